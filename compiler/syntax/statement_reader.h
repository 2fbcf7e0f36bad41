// Reads one statement, head of a block, or item at a time into the tree, by hand: the quick way for good
// text.
//
// Follows grammar/CairnParser.g4 rule by rule with one token of look-ahead. A reading that fails leaves
// `current` at the token that does not fit; what to say about it is for mistakes.h.

#pragma once

#include <optional>
#include <vector>

#include "compiler/syntax/parse.h"
#include "compiler/syntax/tokens.h"

namespace cairn {

class StatementReader {
 public:
  StatementReader(std::string_view text, std::size_t offset, int nesting_limit, Tree& tree);

  [[nodiscard]] const Token& current() const { return current_; }
  [[nodiscard]] std::uint32_t last_end() const { return last_end_; }
  void advance();
  [[nodiscard]] Span span(const Token& token) const { return {tree_.file, token.begin, token.end}; }
  [[nodiscard]] std::string_view text(const Token& token) const {
    return text_.substr(token.begin, token.end - token.begin);
  }
  [[nodiscard]] bool first_on_line(const Token& token) const;
  [[nodiscard]] bool is_at_margin(const Token& token) const {
    return token.begin == 0 || text_[token.begin - 1] == '\n' || text_[token.begin - 1] == '\r';
  }

  // Each begins at its keyword and ends after the last token of the rule (heads: after `{`).
  bool read_leaf(Statement& statement);
  bool read_head(Statement& statement);
  bool read_span_line(Item& load, Span& line);
  bool read_use(Item& item);
  bool read_let(Item& item);
  bool read_load_head(Item& item);
  bool read_routine_head(Item& item);
  bool read_rule_head(Item& item);
  bool read_holds(Statement& statement);  // one sentence of a rule

  void clear_failure();
  // Why the last failure was not a plain unexpected token.
  [[nodiscard]] bool too_deep() const { return too_deep_; }
  [[nodiscard]] bool bad_crossing() const { return bad_crossing_; }
  // Escapes that are none, met since the last call.
  std::vector<Span> take_bad_escapes();
  // Comments met so far, moved into the tree.
  void finish();

 private:
  bool accept(TokenKind kind);
  bool read_word(Word& word);
  bool read_text(Word& word);
  bool read_let_rest(Word& name, ExpressionId& value);
  bool read_mark(MarkId& mark);
  bool read_mark_source(MarkSource& source);
  bool read_argument();
  bool read_arguments(Statement& statement, bool in_parentheses);
  bool read_parameter(Parameter& parameter);
  bool read_path(PathName& path);
  bool read_expression(ExpressionId& id);
  bool read_condition(ExpressionId& id);
  bool read_disjunction(ExpressionId& id);
  bool read_conjunction(ExpressionId& id);
  bool read_negation(ExpressionId& id);
  bool read_comparison(ExpressionId& id);
  bool read_is(ExpressionId& id);
  bool read_each(Statement& statement);
  bool read_every_time(MarkSource& source);
  bool read_occurrence(MarkSource& source);
  [[nodiscard]] bool starts_happening() const;
  bool read_happening(ExpressionId& id);
  bool read_command(Expression& expression);
  bool read_window(Expression& expression);
  bool read_operand(ExpressionId& id);
  bool read_sentence(Sentence& sentence);
  bool read_interval(Sentence& sentence);
  bool read_scope(Sentence& sentence);
  bool read_form(Sentence& sentence);
  bool read_most(Sentence& sentence);
  bool read_only(Sentence& sentence);
  bool read_waiver(Waiver& waiver);
  bool read_term(ExpressionId& id);
  bool read_factor(ExpressionId& id);
  bool read_sum(ExpressionId& id);
  bool read_number(Expression& expression);
  bool count_operator();
  ExpressionId join(ExpressionKind kind, ExpressionId left, ExpressionId right);
  [[nodiscard]] bool is_plain_value(ExpressionId id) const;
  ExpressionId join_or(ExpressionId left, ExpressionId right);
  bool enter();  // one level deeper, or `too_deep_`
  void check_escapes(const Token& token);

  std::string_view text_;
  int nesting_limit_;
  Tree& tree_;
  std::vector<Token> comments_;
  TokenSource source_;
  Token current_;
  std::uint32_t last_end_ = 0;
  static constexpr int operators_per_level = 16;
  int depth_ = 0;
  int operators_ = 0;
  bool too_deep_ = false;
  bool bad_crossing_ = false;
  std::vector<Span> bad_escapes_;
};

}  // namespace cairn
