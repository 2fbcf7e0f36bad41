// Trees of good text, and that bad text of any kind gives diagnostics and an end.

#include "compiler/syntax/parse.h"

#include <gtest/gtest.h>

#include <random>
#include <string>

#include "compiler/syntax/antlr_adapter.h"
#include "tests/syntax/sample.h"

namespace cairn {
namespace {

struct Parsed {
  SourceFiles files;
  Diagnostics diagnostics;
  Tree tree;
  explicit Parsed(std::string text, const ParseLimits& limits = {}) {
    const FileId file = files.add("test.cairn", std::move(text));
    tree = parse(files, file, limits, diagnostics);
  }
  [[nodiscard]] std::string codes() const {
    std::string all;
    for (const Diagnostic& diagnostic : diagnostics.all()) {
      all += std::string(all.empty() ? "" : " ") + std::string(diagnostic.code);
    }
    return all;
  }
  [[nodiscard]] std::string messages() const {
    std::string all;
    for (const Diagnostic& diagnostic : diagnostics.all()) all += diagnostic.message + "\n";
    return all;
  }
};

std::string in_load(const std::string& body) {
  return "load \"l\" for alder {\n  span 2031-05-14T06:00:00Z to 2031-05-18T00:00:00Z\n" + body + "\n}\n";
}

std::string codes_in_load(const std::string& body) { return Parsed(in_load(body)).codes(); }

TEST(Parse, SampleHasNoMistakeAndTheGrammarAgrees) {
  const Parsed parsed{std::string(sample)};
  EXPECT_EQ(parsed.messages(), "");
  EXPECT_EQ(plain_parse(sample).errors, 0U);
  ASSERT_EQ(parsed.tree.items.size(), 19U);
  EXPECT_EQ(parsed.tree.comments.size(), 2U);
  const Item& load = parsed.tree.items[2];
  EXPECT_EQ(load.text.text, "alder-41-evening");
  EXPECT_EQ(load.station.text, "alder");
  EXPECT_EQ(parsed.tree.expressions[load.span_to].text, "2031-138T00:00:00.5Z");
  int children = 0;
  for (StatementId id = load.first_child; id.is_valid(); id = parsed.tree.statements[id].next) ++children;
  EXPECT_EQ(children, 25);
  const Item& routine = parsed.tree.items[18];
  ASSERT_EQ(routine.parameters.size(), 2U);
  EXPECT_EQ(routine.parameters[1].type.text, "Count");
  EXPECT_TRUE(routine.parameters[1].default_value.is_valid());
}

TEST(Parse, Withdrawals) {
  const Parsed parsed(
      in_load("withdraw x.y k=2 h at a1 - 3 h\nwithdraw x.z at 2031-05-14T06:00:00Z at b { }"));
  ASSERT_EQ(parsed.messages(), "");
  const Tree& tree = parsed.tree;
  const Statement& first = tree.statements[tree.items[0].first_child];
  EXPECT_EQ(first.kind, StatementKind::Withdraw);
  EXPECT_EQ(tree.paths[first.path].second.text, "y");
  EXPECT_EQ(first.argument_count, 1U);
  EXPECT_EQ(tree.expressions[first.value].kind, ExpressionKind::Subtract);
  const Statement& second = tree.statements[first.next];
  EXPECT_EQ(tree.expressions[second.value].kind, ExpressionKind::Instant);
  EXPECT_EQ(tree.statements[second.next].kind, StatementKind::At);
  EXPECT_EQ(codes_in_load("withdraw x.y"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("withdraw x at 2 h"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("withdraw at 2 h"), "syntax/unexpected");
}

TEST(Parse, MarksAndBlocks) {
  const Parsed parsed(in_load(
      "mark a1 = sun.elevation rises above 1 deg number 2\nat about a1 - 3 h as early { note \"n\" }\n"
      "after 2 s after 3 s send x.y k=-2 h\nsend x.z"));
  ASSERT_EQ(parsed.messages(), "");
  const Tree& tree = parsed.tree;
  const Statement& mark = tree.statements[tree.items[0].first_child];
  EXPECT_EQ(parsed.tree.marks[mark.mark].kind, MarkKind::Crossing);
  EXPECT_TRUE(parsed.tree.marks[mark.mark].rises);
  EXPECT_EQ(parsed.tree.marks[mark.mark].quantity.second.text, "elevation");
  EXPECT_TRUE(parsed.tree.marks[mark.mark].occurrence.is_valid());
  const Statement& at = tree.statements[mark.next];
  EXPECT_TRUE(at.approximate);
  EXPECT_EQ(at.name.text, "early");
  EXPECT_EQ(tree.expressions[at.value].kind, ExpressionKind::Subtract);
  EXPECT_EQ(tree.statements[at.first_child].text.text, "n");
  EXPECT_EQ(parsed.files.text(at.span).back(), '}');
  const Statement& after = tree.statements[at.next];
  const Statement& inner = tree.statements[after.first_child];
  EXPECT_EQ(inner.kind, StatementKind::After);
  const Statement& send = tree.statements[inner.first_child];
  EXPECT_EQ(tree.paths[send.path].second.text, "y");
  ASSERT_EQ(send.argument_count, 1U);
  EXPECT_EQ(tree.expressions[tree.arguments[send.first_argument].value].kind, ExpressionKind::Negate);
  EXPECT_EQ(after.span.end, send.span.end);
  EXPECT_EQ(tree.paths[tree.statements[after.next].path].second.text, "z");
}

TEST(Parse, Choices) {
  const Parsed parsed(
      in_load("if p is x or y or 3 { send x.aa } else if not b { send x.b } else { send x.c send x.dd }\n"
              "after 1 s if q { send x.e } else { send x.f }\nsend x.g"));
  ASSERT_EQ(parsed.messages(), "");
  const Tree& tree = parsed.tree;
  const auto at = [&](StatementId id) -> const Statement& { return tree.statements[id]; };
  const Statement& first = at(tree.items[0].first_child);
  ASSERT_EQ(first.kind, StatementKind::If);
  const Expression& either = tree.expressions[first.value];
  ASSERT_EQ(either.kind, ExpressionKind::Or);
  EXPECT_EQ(tree.expressions[either.right].kind, ExpressionKind::Is);
  EXPECT_EQ(tree.expressions[tree.expressions[either.right].right].text, "3");
  EXPECT_EQ(tree.expressions[tree.expressions[either.left].right].kind, ExpressionKind::Is);
  const Statement& then = at(first.first_child);
  EXPECT_EQ(then.kind, StatementKind::Then);
  const Statement& otherwise = at(then.next);
  ASSERT_EQ(otherwise.kind, StatementKind::Else);
  EXPECT_FALSE(otherwise.next.is_valid());
  const Statement& second = at(otherwise.first_child);
  ASSERT_EQ(second.kind, StatementKind::If);
  EXPECT_EQ(tree.expressions[second.value].kind, ExpressionKind::Not);
  const Statement& last = at(at(second.first_child).next);
  ASSERT_EQ(last.kind, StatementKind::Else);
  EXPECT_EQ(tree.paths[at(at(last.first_child).next).path].second.text, "dd");
  EXPECT_EQ(first.span.end, last.span.end);
  const Statement& after = at(first.next);
  ASSERT_EQ(after.kind, StatementKind::After);
  EXPECT_FALSE(at(after.first_child).next.is_valid());
  EXPECT_EQ(tree.paths[at(after.next).path].second.text, "g");
  // Parentheses keep a flag a flag.
  const Parsed flag(in_load("if p is x or (y) { }"));
  const Expression& apart = flag.tree.expressions[flag.tree.statements[flag.tree.items[0].first_child].value];
  EXPECT_EQ(flag.tree.expressions[apart.right].kind, ExpressionKind::Name);
}

TEST(Parse, SentencesOfRules) {
  const auto sentence = [](const std::string& text) {
    const Parsed parsed("rule one \"why\" { " + text + " }");
    EXPECT_EQ(parsed.messages(), "") << text;
    return parsed.tree.sentences.size() == 1 ? parsed.tree.sentences[SentenceId{0}] : Sentence{};
  };
  EXPECT_TRUE(sentence("never camera is on while relay is high").never);
  EXPECT_TRUE(sentence("camera is on while relay is high").whilst.is_valid());
  EXPECT_EQ(sentence("camera is on no more than 40 min in any 2 h").form, SentenceForm::AtMost);
  EXPECT_TRUE(sentence("command camera.on no more than once").once);
  EXPECT_TRUE(sentence("command camera.on no more than 3 times").times);
  EXPECT_EQ(sentence("camera is on lasts no less than 5 s").form, SentenceForm::LastsAtLeast);
  EXPECT_EQ(sentence("command x.y only after 5 s of camera is on").form, SentenceForm::OnlyAfter);
  EXPECT_TRUE(sentence("command x.y only after 5 s of camera is on").amount.is_valid());
  EXPECT_FALSE(sentence("command x.y only after command x.z").amount.is_valid());
  EXPECT_EQ(sentence("camera is on followed by camera is off within 1 h").form, SentenceForm::Followed);
  EXPECT_EQ(Parsed("rule one \"why\" { camera is on relay is off }").codes(), "syntax/unexpected");
  EXPECT_EQ(Parsed("rule one \"why\" { }").codes(), "syntax/unexpected");
  EXPECT_EQ(Parsed("rule one \"why\" { never }\nlet x = 3").codes(), "syntax/unexpected");
  EXPECT_EQ(Parsed("rule one { camera is on }\nlet x = 3").codes(), "syntax/unexpected");
  EXPECT_EQ(Parsed("rule one \"why\" { camera is on lasts 3 s }\nlet x = 3").codes(), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("waive power/reserve from p to q reference \"x\" until r"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("expect camera is on\nsend x.y"), "syntax/unexpected");
}

TEST(Parse, WordsInPlaceAreNamesElsewhere) {
  const Parsed parsed(
      in_load("let first = 3\nlet times = first + 1\nsend vane.turn by=times last=first more=less.than\n"
              "for each each in [any] { do since(reference=by) }\nrepeat times times { }"));
  EXPECT_EQ(parsed.messages(), "");
}

TEST(Parse, OneMistakeOneCode) {
  EXPECT_EQ(codes_in_load("send camera cover"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("let end = 3"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("let x = 3 )\nsend x.y"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("sned camera.cover\nsend x.y"), "syntax/unknown-statement");
  EXPECT_EQ(codes_in_load("note \"never ends\nsend x.y"), "syntax/unclosed-text");
  EXPECT_EQ(codes_in_load("note \"bad \\q\""), "syntax/bad-escape");
  EXPECT_EQ(codes_in_load("let x = 3 $ 4\nsend x.y"), "syntax/bad-character");
  EXPECT_EQ(codes_in_load("let x = 3.\nsend x.y"), "syntax/bad-number");
  EXPECT_EQ(codes_in_load("let x = .5\nsend x.y"), "syntax/bad-number");
  EXPECT_EQ(codes_in_load("send x.y k=12abc\nsend x.y"), "syntax/bad-number");
  EXPECT_EQ(codes_in_load("let x = 3 seconds\nsend x.y"), "syntax/unknown-unit");
  EXPECT_EQ(codes_in_load("send x.y k=3 seconds\nsend x.y"), "syntax/unknown-unit");
  EXPECT_EQ(codes_in_load("at 2031-05-14T06:00:00 { send x.y }"), "syntax/bad-instant");
  EXPECT_EQ(codes_in_load("span 2031-05-14T06:00:00Z to 2031-05-15T06:00:00Z"), "syntax/duplicate-span");
  EXPECT_EQ(Parsed("load \"l\" for alder {\n note \"n\"\n}").codes(), "syntax/missing-span");
  EXPECT_EQ(Parsed("load \"l\" for alder {\n span 1 to 2\n").codes(), "syntax/unclosed-block");
  EXPECT_EQ(Parsed("send x.y\nsend x.z\n").codes(), "syntax/outside-load");
  EXPECT_EQ(Parsed(in_load("send x.y\n}\nsend x.z")).codes(), "syntax/outside-load");
  EXPECT_EQ(Parsed("let x = 3\xFF").codes(), "syntax/bad-encoding");
  EXPECT_EQ(Parsed(std::string("let x = 3\0", 10)).codes(), "syntax/bad-encoding");
}

TEST(Parse, NoCascadeFromBrokenHeads) {
  EXPECT_EQ(codes_in_load("at sunset {\n send x.y\n}\nat sunset -- - {\n send x.z\n}\nsend x.w"),
            "syntax/unexpected");
  EXPECT_EQ(codes_in_load("at sunset\n send x.y\n}\nsend x.w"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("togther {\n send x.y\n}\nsend x.w"), "syntax/unknown-statement");
  EXPECT_EQ(codes_in_load("if p b {\n send x.y\n} else {\n send x.z\n}\nsend x.w"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("if p {\n send x.y\n} else b {\n send x.z\n}\nsend x.w"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("if p {\n send x.y\n} else if {\n send x.z\n} else {\n}\nsend x.w"),
            "syntax/unexpected");
  EXPECT_EQ(codes_in_load("else {\n send x.y\n}\nsend x.w"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("if p == 3 {\n send x.y\n}"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("for x in [1] {\n send x.y\n}\nsend x.w"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("for each x in [1, 2 {\n send x.y\n}\nsend x.w"), "syntax/unexpected");
  EXPECT_EQ(codes_in_load("repeat 3 {\n send x.y\n}\nsend x.w"), "syntax/unexpected");
  EXPECT_EQ(Parsed("load for alder {\n span 1 to 2\n send x.y\n}\nlet x = 2 W").codes(), "syntax/unexpected");
}

TEST(Parse, SeveralMistakesAreAllReported) {
  const Parsed parsed(in_load("sned x.y\nlet = 3\nsend x.z k=\nbring camera parked"));
  EXPECT_EQ(parsed.codes(), "syntax/unknown-statement syntax/unexpected syntax/unexpected syntax/unexpected");
}

TEST(Parse, WordsOfMessages) {
  const Parsed parsed(in_load("bring camera parked"));
  ASSERT_EQ(parsed.diagnostics.all().size(), 1U);
  EXPECT_EQ(parsed.diagnostics.all()[0].message, "found the name `parked`, expected `to`");
  const Parsed value(in_load("let x ="));
  ASSERT_EQ(value.diagnostics.all().size(), 1U);
  EXPECT_EQ(value.diagnostics.all()[0].message, "found `}`, expected a value");
  const Parsed every(in_load("from 1 to 2 evry 6 h {\n}"));
  ASSERT_EQ(every.diagnostics.all().size(), 1U);
  ASSERT_EQ(every.diagnostics.all()[0].fixes.size(), 1U);
  EXPECT_EQ(every.diagnostics.all()[0].fixes[0].replacement, "every");
}

TEST(Parse, UnclosedBlockBlamesTheInnerOne) {
  const Parsed parsed(
      "load \"l\" for alder {\n  span 1 to 2\n  at 1 {\n    together {\n      send x.y\n  }\n}\n");
  ASSERT_EQ(parsed.codes(), "syntax/unclosed-block");
  ASSERT_EQ(parsed.diagnostics.all()[0].labels.size(), 1U);
  EXPECT_EQ(parsed.files.text(parsed.tree.file).substr(parsed.diagnostics.all()[0].labels[0].span.begin, 8),
            "together");
}

TEST(Parse, LimitsAreNamed) {
  ParseLimits limits;
  limits.file_bytes = 10;
  EXPECT_EQ(Parsed("let x = 3 W", limits).codes(), "syntax/file-too-large");
  std::string deep;
  for (int i = 0; i < 100000; ++i) deep += "together {\n";
  EXPECT_EQ(Parsed(in_load(deep)).codes().substr(0, 14), "syntax/nesting");
  EXPECT_EQ(codes_in_load("let x = " + std::string(100000, '(')), "syntax/nesting");
  EXPECT_EQ(codes_in_load("let x = " + std::string(100000, '-') + "3"), "syntax/nesting");
  std::string chain = "let x = 1";
  for (int i = 0; i < 100000; ++i) chain += " + 1";
  EXPECT_EQ(codes_in_load(chain), "syntax/nesting");
  std::string chain_of_choices;
  for (int i = 0; i < 1000; ++i) chain_of_choices += "if p { } else ";
  EXPECT_EQ(codes_in_load(chain_of_choices + "{ }").substr(0, 14), "syntax/nesting");
  EXPECT_EQ(codes_in_load("if " + std::string(400, '(')).substr(0, 14), "syntax/nesting");
  std::string nots;
  for (int i = 0; i < 1000; ++i) nots += "not ";
  EXPECT_EQ(codes_in_load("let x = " + nots + "true"), "syntax/nesting");
  std::string after;
  for (int i = 0; i < 100000; ++i) after += "after 1 s ";
  EXPECT_EQ(codes_in_load(after + "send x.y").substr(0, 14), "syntax/nesting");
  std::string wrong;
  for (int i = 0; i < 1000; ++i) wrong += "sned x.y\n";
  const Parsed many(in_load(wrong));
  EXPECT_EQ(many.diagnostics.all().size(), 101U);
  EXPECT_EQ(many.diagnostics.all().back().code, "syntax/too-many-errors");
}

TEST(Parse, CutAnywhereEnds) {
  for (std::size_t length = 0; length < sample.size(); ++length) {
    const Parsed parsed{std::string(sample.substr(0, length))};
    EXPECT_EQ(parsed.diagnostics.all().empty(), plain_parse(sample.substr(0, length)).errors == 0) << length;
    EXPECT_LE(parsed.diagnostics.all().size(), 3U) << length << parsed.messages();
  }
}

TEST(Parse, FlippedAnywhereEnds) {
  for (std::size_t at = 0; at < sample.size(); ++at) {
    for (const unsigned mask : {1U, 0x20U, 0x40U, 0x80U, 0xFFU}) {
      std::string text(sample);
      text[at] = static_cast<char>(static_cast<unsigned char>(text[at]) ^ mask);
      const Parsed parsed(text);
      for (const Diagnostic& diagnostic : parsed.diagnostics.all()) {
        EXPECT_LE(diagnostic.primary.end, text.size());
        EXPECT_LE(diagnostic.primary.begin, diagnostic.primary.end);
      }
    }
  }
}

// The reader by hand and the grammar accept the same texts.
TEST(Parse, GrammarAgreesOnRandomSentences) {
  const std::vector<Token> tokens = generated_tokens(sample);
  std::mt19937 random(2031);
  for (int round = 0; round < 3000; ++round) {
    std::string text;
    const std::size_t dropped = random() % tokens.size();
    const std::size_t doubled = round % 2 == 0 ? tokens.size() : random() % tokens.size();
    for (std::size_t i = 0; i + 1 < tokens.size(); ++i) {
      const std::string word(sample.substr(tokens[i].begin, tokens[i].end - tokens[i].begin));
      if (i != dropped) text += word + (i % 5 == 0 ? "\n" : " ");
      if (i == doubled) text += word + " ";
    }
    const Parsed parsed(text);
    bool only_meaning = true;  // what the grammar leaves to the reader
    for (const Diagnostic& diagnostic : parsed.diagnostics.all()) {
      only_meaning =
          only_meaning && (diagnostic.code == "syntax/missing-span" ||
                           diagnostic.code == "syntax/duplicate-span" || !diagnostic.hints.empty());
    }
    if (plain_parse(text).errors == 0) {
      EXPECT_TRUE(only_meaning) << text << parsed.messages();
    } else {
      EXPECT_TRUE(parsed.diagnostics.has_errors()) << text;
    }
  }
}

}  // namespace
}  // namespace cairn
