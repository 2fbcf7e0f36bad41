// Walks over the tokens, comments among them; the tree says where statements begin.
//
// A line is collected word by word and written when it ends, broken if it is too long. How two neighbours are
// spaced hangs on their kinds alone, never on how they were spaced, so that a second pass does the same.

#include "compiler/syntax/formatter.h"

#include <algorithm>
#include <array>
#include <unordered_map>
#include <vector>

#include "compiler/syntax/tokens.h"
#include "compiler/text/characters.h"

namespace cairn {

namespace {

constexpr std::size_t step = 2;          // of a block
constexpr std::size_t continuation = 4;  // of a statement's further lines

std::size_t columns(std::string_view text) {
  std::size_t count = 0;
  for (std::size_t at = 0; at < text.size();) {
    const Character character = character_at(text, at);
    count += static_cast<std::size_t>(std::max(columns_of(character.code), 0));
    at += character.length;
  }
  return count;
}

std::vector<Token> tokens_with_comments(std::string_view text) {
  std::vector<Token> comments;
  std::vector<Token> tokens;
  TokenSource source(text, text.starts_with("\xEF\xBB\xBF") ? 3 : 0, &comments);
  std::size_t taken = 0;
  for (;;) {
    const Token token = source.next();
    for (; taken < comments.size(); ++taken) tokens.push_back(comments[taken]);
    if (token.kind == TokenKind::EndOfFile) return tokens;
    tokens.push_back(token);
  }
}

std::string_view text_of(std::string_view text, const Token& token) {
  std::string_view word = text.substr(token.begin, token.end - token.begin);
  if (token.kind == TokenKind::Comment) {
    while (word.ends_with(' ') || word.ends_with('\t')) word.remove_suffix(1);
  }
  return word;
}

// What begins at an offset of the text.
enum class Begins : std::uint8_t { Item, Block, Statement, Joined };
using Beginnings = std::unordered_map<std::uint32_t, Begins>;

Beginnings beginnings_of(const Tree& tree) {
  Beginnings found;
  for (const Item& item : tree.items) {
    const bool has_block = item.kind != ItemKind::Use && item.kind != ItemKind::Let;
    found[item.keyword.begin] = has_block ? Begins::Block : Begins::Item;
    if (item.span_keyword.is_valid()) found[item.span_keyword.begin] = Begins::Statement;
  }
  for (std::size_t i = 0; i < tree.statements.size(); ++i) {
    const Statement& statement = tree.statements[tree.statements.id_at(i)];
    if (statement.kind == StatementKind::Then || statement.kind == StatementKind::Else) continue;
    found.emplace(statement.keyword.begin, Begins::Statement);
  }
  // The one statement of `after D STATEMENT` or `else if`: it stands on the line of its owner, unless a brace
  // is between them.
  for (std::size_t i = 0; i < tree.statements.size(); ++i) {
    const Statement& statement = tree.statements[tree.statements.id_at(i)];
    const bool may_join = statement.kind == StatementKind::After || statement.kind == StatementKind::Else;
    if (may_join && statement.first_child.is_valid()) {
      found[tree.statements[statement.first_child].keyword.begin] = Begins::Joined;
    }
  }
  return found;
}

struct Piece {
  std::string_view text;
  bool space = false;      // before it
  bool may_break = false;  // before it
};

class Layout {
 public:
  Layout(std::string_view text, const Tree& tree, const FormatOptions& options)
      : text_(text),
        options_(options),
        tokens_(tokens_with_comments(text)),
        beginnings_(beginnings_of(tree)) {
    out_.reserve(text.size() + text.size() / 8);
  }

  std::string one_line() {
    std::erase_if(tokens_, [](const Token& token) { return token.kind == TokenKind::Comment; });
    std::string row;
    for (std::size_t i = 0; i < tokens_.size(); ++i) {
      if (i > 0 && is_spaced(i - 1, i)) row += ' ';
      row += word(i);
    }
    return row;
  }

  std::string run() {
    for (std::size_t i = 0; i < tokens_.size(); ++i) token(i);
    end_line();
    return std::move(out_);
  }

 private:
  [[nodiscard]] TokenKind kind(std::size_t i) const { return tokens_[i].kind; }
  [[nodiscard]] std::string_view word(std::size_t i) const { return text_of(text_, tokens_[i]); }

  void token(std::size_t i) {
    const bool closes = kind(i) == TokenKind::CloseBrace;
    const bool empty_block = closes && i > 0 && kind(i - 1) == TokenKind::OpenBrace;
    if (kind(i) == TokenKind::Comment) {
      comment(i);
      return;
    }
    const auto begins = beginnings_.find(tokens_[i].begin);
    const bool joined = begins != beginnings_.end() && begins->second == Begins::Joined && !follows_brace(i);
    const bool new_line =
        (begins != beginnings_.end() && !joined) || (closes && !empty_block) || after_block(i);
    if (new_line) {
      end_line();
      if (closes && depth_ > 0) --depth_;
      const bool is_block = begins != beginnings_.end() && begins->second == Begins::Block;
      begin_line(i, !closes && (ended_block_ || (is_block && !after_comment_)), closes);
      statement_ = i;
    } else if (closes && depth_ > 0) {
      --depth_;
    }
    add(i);
    ended_block_ = closes && depth_ == 0;
    after_comment_ = false;
    if (kind(i) == TokenKind::OpenBrace) ++depth_;
  }

  // The last token that is no comment, or this one's index when there is none.
  [[nodiscard]] std::size_t before(std::size_t i) const {
    for (std::size_t at = i; at > 0; --at) {
      if (kind(at - 1) != TokenKind::Comment) return at - 1;
    }
    return i;
  }
  [[nodiscard]] bool follows_brace(std::size_t i) const {
    return before(i) != i && kind(before(i)) == TokenKind::OpenBrace;
  }
  // Only `else` stays on the line of a closing brace; an opening one always ends its line.
  [[nodiscard]] bool after_block(std::size_t i) const {
    const std::size_t last = before(i);
    if (last == i) return false;
    if (kind(last) == TokenKind::OpenBrace) return kind(i) != TokenKind::CloseBrace;
    return kind(last) == TokenKind::CloseBrace && kind(i) != TokenKind::Else;
  }

  // Line ends between the token and the one before it.
  [[nodiscard]] std::size_t line_ends(std::size_t i) const {
    const std::uint32_t begin = i == 0 ? 0 : tokens_[i - 1].end;
    std::size_t count = 0;
    for (std::uint32_t at = begin; at < tokens_[i].begin; ++at) {
      const bool after_return = at > begin && text_[at - 1] == '\r';
      if (text_[at] == '\r' || (text_[at] == '\n' && !after_return)) ++count;
    }
    return count;
  }

  void comment(std::size_t i) {
    const bool own_line = i == 0 || line_ends(i) > 0;
    if (!own_line && !line_.empty()) {
      trailing_ = word(i);
      end_line();
      return;
    }
    end_line();
    begin_line(i, ended_block_, false);
    line_.push_back({word(i), false, false});
    end_line();
    ended_block_ = false;
    after_comment_ = true;
  }

  void begin_line(std::size_t i, bool wants_blank, bool closes) {
    const bool first_in_block = i > 0 && kind(i - 1) == TokenKind::OpenBrace;
    const bool blank = !out_.empty() && !closes && !first_in_block && (wants_blank || line_ends(i) > 1);
    if (blank) out_ += '\n';
    indent_ = depth_ * step;
  }

  void add(std::size_t i) {
    if (line_.empty()) {
      // Within a statement that a comment has cut.
      if (i != statement_ && kind(i) != TokenKind::Else) indent_ = depth_ * step + continuation;
      if (kind(i) == TokenKind::Else) indent_ = depth_ * step;
      line_.push_back({word(i), false, false});
      return;
    }
    const std::size_t last = before(i);
    line_.push_back({word(i), is_spaced(last, i), may_break(last, i)});
  }

  [[nodiscard]] bool ends_value(std::size_t i) const {
    if (is_name(kind(i))) return true;
    switch (kind(i)) {
      case TokenKind::Number:
      case TokenKind::Unit:
      case TokenKind::Instant:
      case TokenKind::Text:
      case TokenKind::True:
      case TokenKind::False:
      case TokenKind::CloseParenthesis:
      case TokenKind::CloseBracket:
        return true;
      default:
        return false;
    }
  }

  // A minus that only turns the sign of what follows.
  [[nodiscard]] bool is_sign(std::size_t i) const {
    if (kind(i) != TokenKind::Minus) return false;
    const std::size_t last = before(i);
    return last == i || !ends_value(last);
  }

  // `=` of a definition, with blanks around it; that of an argument has none.
  [[nodiscard]] bool defines(std::size_t equals) const {
    const std::size_t name = before(equals);
    const std::size_t first = before(name);
    return name != equals && first != name &&
           (kind(first) == TokenKind::Let || kind(first) == TokenKind::Mark ||
            kind(first) == TokenKind::Colon);
  }

  // The `/` in the name of a check: `power/reserve`.
  [[nodiscard]] bool joins_check(std::size_t slash) const {
    return kind(slash) == TokenKind::Slash && slash >= 2 && word(before(before(slash))) == "waive";
  }

  // The parenthesis of a call or of a list of parameters.
  [[nodiscard]] bool calls(std::size_t parenthesis) const {
    const std::size_t name = before(parenthesis);
    if (is_name(kind(name))) return true;
    const std::size_t first = before(name);
    return kind(first) == TokenKind::Dot || kind(first) == TokenKind::Do || kind(first) == TokenKind::Routine;
  }

  [[nodiscard]] bool is_spaced(std::size_t last, std::size_t i) const {
    switch (kind(i)) {
      case TokenKind::Comma:
      case TokenKind::Colon:
      case TokenKind::Dot:
      case TokenKind::CloseParenthesis:
      case TokenKind::CloseBracket:
        return false;
      case TokenKind::CloseBrace:
        return kind(last) != TokenKind::OpenBrace;
      case TokenKind::OpenParenthesis:
        if (calls(i)) return false;
        break;
      case TokenKind::Equals:
        return defines(i);
      case TokenKind::Slash:
        if (joins_check(i)) return false;
        break;
      default:
        break;
    }
    switch (kind(last)) {
      case TokenKind::OpenParenthesis:
      case TokenKind::OpenBracket:
      case TokenKind::Dot:
        return false;
      case TokenKind::Equals:
        return defines(last);
      case TokenKind::Minus:
        return !is_sign(last);
      case TokenKind::Slash:
        return !joins_check(last);
      default:
        return true;
    }
  }

  [[nodiscard]] bool may_break(std::size_t last, std::size_t i) const {
    constexpr std::array<std::string_view, 11> words{
        "and", "or", "to", "every", "while", "between", "within", "because", "reference", "until", "number"};
    if (kind(last) == TokenKind::Comma) return true;
    const bool is_argument = i + 1 < tokens_.size() && kind(i + 1) == TokenKind::Equals && !defines(i + 1) &&
                             kind(last) != TokenKind::OpenParenthesis;
    if (is_argument) return true;
    if (kind(i) == TokenKind::Name || kind(i) == TokenKind::Text) return false;
    return std::find(words.begin(), words.end(), word(i)) != words.end();
  }

  void end_line() {
    if (line_.empty()) return;
    std::string row(indent_, ' ');
    std::size_t width = indent_;
    std::size_t begin = 0;
    while (begin < line_.size()) {
      // Up to the next place where the line may be broken.
      std::size_t end = begin + 1;
      while (end < line_.size() && !line_[end].may_break) ++end;
      std::string run;
      for (std::size_t i = begin; i < end; ++i) {
        if (i > begin && line_[i].space) run += ' ';
        run += line_[i].text;
      }
      const std::size_t length = columns(run);
      if (begin > 0 && width + 1 + length > options_.width) {
        out_ += row;
        out_ += '\n';
        row.assign(indent_ + continuation, ' ');
        width = indent_ + continuation;
      } else if (begin > 0 && line_[begin].space) {
        row += ' ';
        ++width;
      }
      row += run;
      width += length;
      begin = end;
    }
    out_ += row;
    if (!trailing_.empty()) (out_ += "  ") += trailing_;
    out_ += '\n';
    line_.clear();
    trailing_ = {};
  }

  std::string_view text_;
  FormatOptions options_;
  std::vector<Token> tokens_;
  Beginnings beginnings_;
  std::string out_;
  std::vector<Piece> line_;
  std::string_view trailing_;  // the comment at its end
  std::size_t indent_ = 0;
  std::size_t depth_ = 0;
  std::size_t statement_ = 0;   // its first token
  bool ended_block_ = false;    // the last word closed a routine, a load or the like
  bool after_comment_ = false;  // the last thing was a comment on a line of its own
};

}  // namespace

std::optional<std::string> format(const SourceFiles& files, FileId file, const ParseLimits& limits,
                                  const FormatOptions& options, Diagnostics& diagnostics) {
  Diagnostics found;
  const Tree tree = parse(files, file, limits, found);
  const bool broken = found.has_errors();
  diagnostics.append(std::move(found));
  if (broken) return std::nullopt;
  return Layout(files.text(file), tree, options).run();
}

std::string in_one_line(std::string_view part) { return Layout(part, Tree{}, {}).one_line(); }

bool same_words(std::string_view before, std::string_view after) {
  const std::vector<Token> first = tokens_with_comments(before);
  const std::vector<Token> second = tokens_with_comments(after);
  return std::equal(first.begin(), first.end(), second.begin(), second.end(),
                    [&](const Token& a, const Token& b) {
                      return a.kind == b.kind && text_of(before, a) == text_of(after, b);
                    });
}

}  // namespace cairn
