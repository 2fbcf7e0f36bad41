// One function per rule of the grammar, each putting its words at the end of the list.

#include "tests/syntax/random_program.h"

#include <array>
#include <initializer_list>
#include <string_view>

namespace cairn::test {
namespace {

class Writer {
 public:
  explicit Writer(std::mt19937_64& random) : random_(random) {}

  std::vector<std::string> file() {
    const int items = number(0, 4);
    for (int i = 0; i < items; ++i) item();
    return std::move(words_);
  }

 private:
  int number(int least, int most) { return std::uniform_int_distribution<int>(least, most)(random_); }
  bool toss(int of = 2) { return number(1, of) == 1; }
  void put(std::string_view word) { words_.emplace_back(word); }
  template <std::size_t N>
  void one_of(const std::array<std::string_view, N>& choices) {
    put(choices[static_cast<std::size_t>(number(0, static_cast<int>(N) - 1))]);
  }

  void name() {
    one_of(std::array<std::string_view, 8>{"camera", "cover", "a-b", "x_1", "sunset", "flip-vane-2", "Depth",
                                           "q"});
  }
  void text() {
    one_of(std::array<std::string_view, 6>{R"("")", R"("a")", R"("says \"no\"")", R"("back\\slash\nline")",
                                           R"("# no comment { } ")", "\"\u00e4\u6f22\U0001F319 wide\""});
  }

  void item() {
    switch (number(1, 6)) {
      case 6:
        rule();
        return;
      case 1:
        put("use");
        text();
        return;
      case 2:
        let();
        return;
      case 3:
        routine();
        return;
      default:
        load();
        return;
    }
  }
  void let() {
    put("let");
    name();
    put("=");
    condition(3);
  }
  void rule() {
    put("rule");
    name();
    text();
    put("{");
    sentence();
    put("}");
  }
  void every_time() {
    if (toss()) {
      put("window");
      name();
      put(toss() ? "opens" : "closes");
    } else {
      path();
      const bool rises = toss();
      put(rises ? "rises" : "falls");
      put(rises ? "above" : "below");
      expression(1);
    }
    if (!toss(3)) return;
    put("between");
    expression(1);
    put("and");
    expression(1);
  }
  void scope() {
    if (toss(3)) {
      put("while");
      condition(1);
    }
    if (toss(3)) {
      put("between");
      expression(1);
      put("and");
      expression(1);
    }
  }
  void words(std::initializer_list<std::string_view> list) {
    for (const std::string_view word : list) put(word);
  }
  void sentence() {
    switch (number(1, 9)) {
      case 1:
        put(toss() ? "never" : "always");
        condition(2);
        scope();
        return;
      case 2:
        condition(2);
        scope();
        return;
      case 3:
        condition(1);
        words({"no", "more", "than"});
        if (toss()) {
          put("once");
        } else {
          expression(1);
          if (toss()) put("times");
        }
        if (toss()) {
          words({"in", "any"});
          expression(1);
        }
        return;
      case 4:
        condition(1);
        words({"lasts", "no", toss() ? "more" : "less", "than"});
        expression(1);
        return;
      case 5:
        condition(1);
        words({"apart", "by"});
        expression(1);
        return;
      case 6:
        condition(1);
        put("only");
        one_of(std::array<std::string_view, 4>{"inside", "outside", "while", "before"});
        condition(1);
        return;
      case 7:
        condition(1);
        words({"only", "between"});
        expression(1);
        put("and");
        expression(1);
        return;
      case 8:
        condition(1);
        words({"followed", "by"});
        condition(1);
        put("within");
        expression(1);
        return;
      default:
        condition(1);
        words({"only", "after"});
        condition(1);
        if (toss()) {
          put("of");
          condition(1);
        }
        return;
    }
  }
  void waive() {
    put("waive");
    name();
    if (toss()) {
      put("/");
      name();
    }
    if (toss()) {
      put("of");
      text();
    }
    if (toss()) {
      put("to");
      expression(1);
    }
    put("from");
    expression(1);
    put("to");
    expression(1);
    put("because");
    text();
    put("reference");
    text();
    put("until");
    expression(1);
  }
  void routine() {
    put("routine");
    name();
    put("(");
    const int count = number(0, 3);
    for (int i = 0; i < count; ++i) {
      if (i > 0) put(",");
      name();
      put(":");
      name();
      if (toss()) {
        put("=");
        condition(2);
      }
    }
    put(")");
    block(3);
  }
  void load() {
    put("load");
    text();
    put("for");
    name();
    put("{");
    const int count = number(0, 5);
    const int place = number(0, count);
    for (int i = 0; i <= count; ++i) {
      if (i == place) {
        put("span");
        expression(2);
        put("to");
        expression(2);
      } else {
        statement(3);
      }
    }
    put("}");
  }
  void block(int depth) {
    put("{");
    const int count = depth == 0 ? number(0, 1) : number(0, 4);
    for (int i = 0; i < count; ++i) statement(depth - 1);
    put("}");
  }
  void statement(int depth) {
    if (depth <= 0 || toss()) {
      leaf();
      return;
    }
    switch (number(1, 7)) {
      case 1:
        put("at");
        if (toss(3)) put("about");
        expression(2);
        if (toss(3)) {
          put("as");
          name();
        }
        block(depth);
        return;
      case 2:
        put("from");
        expression(2);
        put("to");
        expression(2);
        put("every");
        expression(1);
        block(depth);
        return;
      case 3:
        put("together");
        block(depth);
        return;
      case 4:
        put("for");
        put("each");
        name();
        put("in");
        if (toss(3)) {
          every_time();
        } else {
          list(true);
        }
        block(depth);
        return;
      case 5:
        put("repeat");
        expression(1);
        put("times");
        block(depth);
        return;
      case 6:
        put("after");
        expression(1);
        if (toss()) {
          block(depth);
        } else {
          statement(depth - 1);
        }
        return;
      default:
        choice(depth);
        return;
    }
  }
  void choice(int depth) {
    put("if");
    condition(2);
    block(depth);
    if (toss()) return;
    put("else");
    if (toss(3) && depth > 0) {
      choice(depth - 1);
    } else {
      block(depth);
    }
  }
  void list(bool conditions) {
    put("[");
    const int count = number(0, 4);
    for (int i = 0; i < count; ++i) {
      if (i > 0) put(",");
      conditions ? condition(1) : expression(1);
    }
    put("]");
  }
  void arguments(bool commas) {
    const int count = toss(6) ? number(8, 20) : number(0, 3);
    for (int i = 0; i < count; ++i) {
      if (commas && i > 0) put(",");
      name();
      put("=");
      expression(2);
    }
  }
  void leaf() {
    switch (number(1, 10)) {
      case 10:
        put("withdraw");
        name();
        put(".");
        name();
        arguments(false);
        put("at");
        expression(2);
        return;
      case 6:
        put("require");
        sentence();
        return;
      case 7:
        put("expect");
        condition(1);
        put("within");
        expression(1);
        return;
      case 8:
        waive();
        return;
      case 1:
        let();
        return;
      case 2:
        mark();
        return;
      case 3:
        put("note");
        text();
        return;
      case 4:
        put("send");
        if (toss(4)) put("now");
        name();
        put(".");
        name();
        arguments(false);
        return;
      case 5:
        put("bring");
        name();
        if (toss()) {
          put(".");
          name();
        }
        put("to");
        name();
        return;
      default:
        put("do");
        name();
        put("(");
        arguments(true);
        put(")");
        return;
    }
  }
  void mark() {
    put("mark");
    name();
    put("=");
    switch (number(1, 4)) {
      case 1:
        put("window");
        name();
        if (toss()) expression(1);
        put(toss() ? "opens" : "closes");
        return;
      case 2:
        put(toss() ? "start" : "end");
        put("of");
        name();
        return;
      case 3: {
        path();
        const bool rises = toss();
        put(rises ? "rises" : "falls");
        put(rises ? "above" : "below");
        expression(1);
        if (toss(3)) {
          put("number");
          expression(1);
        }
        return;
      }
      default:
        expression(2);
        return;
    }
  }
  void path() {
    name();
    const int more = number(0, 2);
    for (int i = 0; i < more; ++i) {
      put(".");
      name();
    }
  }
  void condition(int depth) {
    if (depth <= 0) {
      comparison(0);
      return;
    }
    const int count = toss(3) ? number(2, 3) : 1;
    for (int i = 0; i < count; ++i) {
      if (i > 0) put(toss() ? "or" : "and");
      if (toss(5)) put("not");
      comparison(depth - 1);
    }
  }
  void comparison(int depth) {
    expression(depth);
    switch (number(1, 8)) {
      case 1:
        one_of(std::array<std::string_view, 4>{"<", "<=", ">", ">="});
        expression(depth);
        return;
      case 2:
        put("is");
        if (toss()) put("not");
        expression(depth);
        return;
      case 3:
        put("is");
        if (toss()) put("not");
        put("in");
        list(false);
        return;
      default:
        return;
    }
  }
  void expression(int depth) {
    const int count = depth > 0 && toss(3) ? number(2, 3) : 1;
    for (int i = 0; i < count; ++i) {
      if (i > 0) one_of(std::array<std::string_view, 4>{"+", "-", "*", "/"});
      factor(depth);
    }
  }
  void factor(int depth) {
    if (toss(8)) put("-");
    switch (number(1, depth > 0 ? 9 : 8)) {
      case 1:
        one_of(std::array<std::string_view, 5>{"0", "3", "0.25", "1e3", "2.5E-4"});
        return;
      case 2:
      case 3:
        one_of(std::array<std::string_view, 4>{"90", "0.8", "1", "36"});
        one_of(std::array<std::string_view, 8>{"s", "min", "%", "deg/s", "W", "m", "kbit/s", "degC"});
        return;
      case 4:
        one_of(std::array<std::string_view, 3>{"2031-05-14T06:00:00Z", "2031-134T06:00:00.125Z",
                                               "2016-12-31T23:59:60Z"});
        return;
      case 5:
        text();
        return;
      case 6:
        put(toss() ? "true" : "false");
        return;
      case 9:
        put("(");
        condition(depth - 1);
        put(")");
        return;
      default:
        path();
        return;
    }
  }

  std::mt19937_64& random_;
  std::vector<std::string> words_;
};

bool stands_alone(const std::string& word) {
  return word.size() == 1 && std::string_view("(){}[],:").find(word[0]) != std::string_view::npos;
}

}  // namespace

std::vector<std::string> random_words(std::mt19937_64& random) { return Writer(random).file(); }

std::string random_layout(const std::vector<std::string>& words, std::mt19937_64& random) {
  const auto number = [&random](int most) { return std::uniform_int_distribution<int>(0, most)(random); };
  const auto gap = [&number]() -> std::string {
    switch (number(24)) {
      case 0:
        return "\n";
      case 1:
        return "\r\n\r\n  \t";
      case 2:
        return "\n\n\n\n";
      case 3:
        return " # why, \u00e4 and \u6f22  \n";
      case 4:
        return "\n#! # alone {\r\n";
      case 5:
        return "\n\n   #\n\n#two\n";
      case 6:
        return "\t";
      case 7:
        return "\r";
      case 8:
        return "      ";
      default:
        return " ";
    }
  };
  std::string text = number(20) == 0 ? "\xEF\xBB\xBF" : "";
  if (number(3) == 0) text += gap();
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) {
      const bool may_touch = stands_alone(words[i]) || stands_alone(words[i - 1]);
      if (!may_touch || number(2) > 0) text += gap();
    }
    text += words[i];
  }
  if (number(2) > 0) text += gap();
  return text;
}

}  // namespace cairn::test
