// The rules of grammar/CairnParser.g4 as functions, in its order.
//
// They return false at the first token that does not fit, and never report: the driver does, once per
// statement.

#include "compiler/syntax/statement_reader.h"

#include <utility>

namespace cairn {

StatementReader::StatementReader(std::string_view text, std::size_t offset, int nesting_limit, Tree& tree)
    : text_(text), nesting_limit_(nesting_limit), tree_(tree), source_(text, offset, &comments_) {
  current_ = source_.next();
}

void StatementReader::advance() {
  last_end_ = current_.end;
  current_ = source_.next();
}

bool StatementReader::first_on_line(const Token& token) const {
  for (std::size_t at = token.begin; at > 0; --at) {
    const char c = text_[at - 1];
    if (c == '\n' || c == '\r') return true;
    if (c != ' ' && c != '\t') return false;
  }
  return true;
}

std::vector<Span> StatementReader::take_bad_escapes() { return std::exchange(bad_escapes_, {}); }

void StatementReader::finish() {
  tree_.comments.reserve(comments_.size());
  for (const Token& comment : comments_) tree_.comments.push_back({span(comment)});
}

bool StatementReader::accept(TokenKind kind) {
  if (current_.kind != kind) return false;
  advance();
  return true;
}

bool StatementReader::read_word(Word& word) {
  if (!is_name(current_.kind)) return false;
  word = {text(current_), span(current_)};
  advance();
  return true;
}

void StatementReader::check_escapes(const Token& token) {
  for (std::size_t at = token.begin + 1; at + 1 < token.end; ++at) {
    if (text_[at] != '\\') continue;
    const char escaped = text_[at + 1];
    if (escaped != '"' && escaped != '\\' && escaped != 'n') {
      std::size_t end = at + 2;  // with every byte of the character after the backslash
      while (end < token.end && (static_cast<unsigned char>(text_[end]) & 0xC0U) == 0x80U) ++end;
      bad_escapes_.push_back({tree_.file, static_cast<std::uint32_t>(at), static_cast<std::uint32_t>(end)});
    }
    ++at;
  }
}

bool StatementReader::read_text(Word& word) {
  if (current_.kind != TokenKind::Text) return false;
  check_escapes(current_);
  word = {text_.substr(current_.begin + 1, current_.end - current_.begin - 2), span(current_)};
  advance();
  return true;
}

bool StatementReader::read_use(Item& item) {
  item.kind = ItemKind::Use;
  item.keyword = span(current_);
  advance();
  if (!read_text(item.text)) return false;
  item.span = {tree_.file, item.keyword.begin, last_end_};
  return true;
}

bool StatementReader::read_let_rest(Word& name, ExpressionId& value) {
  return read_word(name) && accept(TokenKind::Equals) && read_condition(value);
}

bool StatementReader::read_let(Item& item) {
  item.kind = ItemKind::Let;
  item.keyword = span(current_);
  advance();
  if (!read_let_rest(item.name, item.value)) return false;
  item.span = {tree_.file, item.keyword.begin, last_end_};
  return true;
}

bool StatementReader::read_parameter(Parameter& parameter) {
  parameter.span = span(current_);
  if (!read_word(parameter.name) || !accept(TokenKind::Colon) || !read_word(parameter.type)) return false;
  if (accept(TokenKind::Equals) && !read_condition(parameter.default_value)) return false;
  parameter.span.end = last_end_;
  return true;
}

bool StatementReader::read_routine_head(Item& item) {
  item.kind = ItemKind::Routine;
  item.keyword = span(current_);
  advance();
  if (!read_word(item.name) || !accept(TokenKind::OpenParenthesis)) return false;
  if (is_name(current_.kind)) {
    do {
      Parameter parameter;
      if (!read_parameter(parameter)) return false;
      item.parameters.push_back(parameter);
    } while (accept(TokenKind::Comma));
  }
  if (!accept(TokenKind::CloseParenthesis) || !accept(TokenKind::OpenBrace)) return false;
  item.span = {tree_.file, item.keyword.begin, last_end_};
  return true;
}

bool StatementReader::read_rule_head(Item& item) {
  item.kind = ItemKind::Rule;
  item.keyword = span(current_);
  advance();
  if (!read_word(item.name) || !read_text(item.text) || !accept(TokenKind::OpenBrace)) return false;
  item.span = {tree_.file, item.keyword.begin, last_end_};
  return true;
}

bool StatementReader::read_load_head(Item& item) {
  item.kind = ItemKind::Load;
  item.keyword = span(current_);
  advance();
  if (!read_text(item.text) || !accept(TokenKind::For) || !read_word(item.station)) return false;
  item.name = item.text;
  if (!accept(TokenKind::OpenBrace)) return false;
  item.span = {tree_.file, item.keyword.begin, last_end_};
  return true;
}

bool StatementReader::read_span_line(Item& load, Span& line) {
  load.span_keyword = span(current_);
  line = load.span_keyword;
  advance();
  if (!read_expression(load.span_from) || !accept(TokenKind::To) || !read_expression(load.span_to))
    return false;
  line.end = last_end_;
  return true;
}

bool StatementReader::read_leaf(Statement& statement) {
  statement.keyword = span(current_);
  const TokenKind keyword = current_.kind;
  advance();
  bool good = false;
  PathName path;
  switch (keyword) {
    case TokenKind::Let:
      statement.kind = StatementKind::Let;
      good = read_let_rest(statement.name, statement.value);
      break;
    case TokenKind::Mark:
      statement.kind = StatementKind::Mark;
      good = read_word(statement.name) && accept(TokenKind::Equals) && read_mark(statement.mark);
      break;
    case TokenKind::Note:
      statement.kind = StatementKind::Note;
      good = read_text(statement.text);
      break;
    case TokenKind::Send:
      statement.kind = StatementKind::Send;
      statement.immediate = accept(TokenKind::Now);
      good = read_word(path.first) && accept(TokenKind::Dot) && read_word(path.second);
      if (!good) break;
      path.span = cover(path.first.span, path.second.span);
      good = read_arguments(statement, false);
      if (good) statement.path = tree_.paths.add(path);
      break;
    case TokenKind::Bring:
      statement.kind = StatementKind::Bring;
      good = read_word(path.first) && (!accept(TokenKind::Dot) || read_word(path.second));
      if (!good) break;
      path.span = {tree_.file, path.first.span.begin, last_end_};
      good = accept(TokenKind::To) && read_word(statement.name);
      if (good) statement.path = tree_.paths.add(path);
      break;
    case TokenKind::Withdraw:
      statement.kind = StatementKind::Withdraw;
      good = read_word(path.first) && accept(TokenKind::Dot) && read_word(path.second);
      if (!good) break;
      path.span = cover(path.first.span, path.second.span);
      good = read_arguments(statement, false) && accept(TokenKind::At) && read_expression(statement.value);
      if (good) statement.path = tree_.paths.add(path);
      break;
    case TokenKind::Require: {
      statement.kind = StatementKind::Require;
      Sentence sentence;
      good = read_sentence(sentence);
      if (good) statement.sentence = tree_.sentences.add(sentence);
      break;
    }
    case TokenKind::Expect:
      statement.kind = StatementKind::Expect;
      good =
          read_condition(statement.value) && accept(TokenKind::Within) && read_expression(statement.second);
      break;
    case TokenKind::Waive: {
      statement.kind = StatementKind::Waive;
      Waiver waiver;
      good = read_waiver(waiver);
      if (good) statement.waiver = tree_.waivers.add(waiver);
      break;
    }
    default:
      statement.kind = StatementKind::Do;
      good = read_word(statement.name) && accept(TokenKind::OpenParenthesis) &&
             read_arguments(statement, true) && accept(TokenKind::CloseParenthesis);
      break;
  }
  if (good) statement.span = {tree_.file, statement.keyword.begin, last_end_};
  return good;
}

bool StatementReader::read_mark(MarkId& mark) {
  MarkSource source;
  if (!read_mark_source(source)) return false;
  mark = tree_.marks.add(source);
  return true;
}

bool StatementReader::read_mark_source(MarkSource& source) {
  switch (current_.kind) {
    case TokenKind::Window:
      advance();
      source.kind = MarkKind::Window;
      if (!read_word(source.antenna)) return false;
      if (starts_value(current_.kind) && !read_expression(source.occurrence)) return false;
      source.opens = current_.kind == TokenKind::Opens;
      return (accept(TokenKind::Opens) || accept(TokenKind::Closes)) && read_occurrence(source);
    case TokenKind::Start:
    case TokenKind::End:
      source.kind = MarkKind::Block;
      source.at_start = current_.kind == TokenKind::Start;
      advance();
      return accept(TokenKind::Of) && read_word(source.block);
    default:
      break;
  }
  ExpressionId first;
  if (!read_expression(first)) return false;
  if (current_.kind != TokenKind::Rises && current_.kind != TokenKind::Falls) {
    source.kind = MarkKind::Expression;
    source.value = first;
    return true;
  }
  if (tree_.expressions[first].kind != ExpressionKind::Name) {
    bad_crossing_ = true;
    return false;
  }
  source.kind = MarkKind::Crossing;
  source.quantity = tree_.paths[tree_.expressions[first].path];
  source.rises = current_.kind == TokenKind::Rises;
  advance();
  if (!accept(source.rises ? TokenKind::Above : TokenKind::Below)) return false;
  return read_expression(source.value) && read_occurrence(source);
}

bool StatementReader::read_occurrence(MarkSource& source) {
  if (accept(TokenKind::NumberWord)) return read_expression(source.occurrence);
  if (accept(TokenKind::First)) return accept(TokenKind::After) && read_expression(source.beyond);
  if (!accept(TokenKind::Last)) return true;
  source.last = true;
  return accept(TokenKind::Before) && read_expression(source.beyond);
}

bool StatementReader::read_argument() {
  Argument argument;
  argument.span = span(current_);
  if (!read_word(argument.name) || !accept(TokenKind::Equals) || !read_expression(argument.value))
    return false;
  argument.span.end = last_end_;
  tree_.arguments.push_back(argument);
  return true;
}

bool StatementReader::read_arguments(Statement& statement, bool in_parentheses) {
  statement.first_argument = static_cast<std::uint32_t>(tree_.arguments.size());
  while (is_name(current_.kind)) {
    if (!read_argument()) {
      tree_.arguments.resize(statement.first_argument);
      return false;
    }
    ++statement.argument_count;
    if (!in_parentheses) continue;
    if (!accept(TokenKind::Comma)) break;
    if (!is_name(current_.kind)) return false;
  }
  return true;
}

bool StatementReader::read_head(Statement& statement) {
  statement.keyword = span(current_);
  const TokenKind keyword = current_.kind;
  advance();
  bool good = true;
  switch (keyword) {
    case TokenKind::At:
      statement.kind = StatementKind::At;
      statement.approximate = accept(TokenKind::About);
      good = read_expression(statement.value) && (!accept(TokenKind::As) || read_word(statement.name)) &&
             accept(TokenKind::OpenBrace);
      break;
    case TokenKind::After:
      statement.kind = StatementKind::After;
      good = read_expression(statement.value) &&
             (current_.kind == TokenKind::OpenBrace || starts_statement(current_.kind));
      break;
    case TokenKind::From:
      statement.kind = StatementKind::Every;
      good = read_expression(statement.value) && accept(TokenKind::To) && read_expression(statement.second) &&
             accept(TokenKind::Every) && read_expression(statement.third) && accept(TokenKind::OpenBrace);
      break;
    case TokenKind::For:
      statement.kind = StatementKind::Each;
      good = read_each(statement) && accept(TokenKind::OpenBrace);
      break;
    case TokenKind::Repeat:
      statement.kind = StatementKind::Repeat;
      good = read_expression(statement.value) && accept(TokenKind::Times) && accept(TokenKind::OpenBrace);
      break;
    case TokenKind::If:  // ends before its `{`
      statement.kind = StatementKind::If;
      good = read_condition(statement.value) && current_.kind == TokenKind::OpenBrace;
      break;
    default:
      statement.kind = StatementKind::Together;
      good = accept(TokenKind::OpenBrace);
      break;
  }
  if (good) statement.span = {tree_.file, statement.keyword.begin, last_end_};
  return good;
}

bool StatementReader::read_each(Statement& statement) {
  if (!accept(TokenKind::Each) || !read_word(statement.name) || !accept(TokenKind::In)) return false;
  if (current_.kind == TokenKind::Window || is_name(current_.kind)) {
    MarkSource source;
    if (!read_every_time(source)) return false;
    statement.mark = tree_.marks.add(source);
    return true;
  }
  if (!accept(TokenKind::OpenBracket)) return false;
  statement.first_argument = static_cast<std::uint32_t>(tree_.arguments.size());
  if (accept(TokenKind::CloseBracket)) return true;
  do {
    Argument element;
    element.span = span(current_);
    if (!read_condition(element.value)) {
      tree_.arguments.resize(statement.first_argument);
      return false;
    }
    element.span.end = last_end_;
    tree_.arguments.push_back(element);
    ++statement.argument_count;
  } while (accept(TokenKind::Comma));
  return accept(TokenKind::CloseBracket);
}

bool StatementReader::read_every_time(MarkSource& source) {
  if (accept(TokenKind::Window)) {
    source.kind = MarkKind::Window;
    if (!read_word(source.antenna)) return false;
    source.opens = current_.kind == TokenKind::Opens;
    if (!accept(TokenKind::Opens) && !accept(TokenKind::Closes)) return false;
  } else {
    source.kind = MarkKind::Crossing;
    if (!read_path(source.quantity)) return false;
    source.rises = current_.kind == TokenKind::Rises;
    if (!accept(TokenKind::Rises) && !accept(TokenKind::Falls)) return false;
    if (!accept(source.rises ? TokenKind::Above : TokenKind::Below)) return false;
    if (!read_expression(source.value)) return false;
  }
  if (!accept(TokenKind::Between)) return true;
  return read_expression(source.from) && accept(TokenKind::And) && read_expression(source.to);
}

bool StatementReader::read_path(PathName& path) {
  if (!read_word(path.first)) return false;
  if (accept(TokenKind::Dot)) {
    if (!read_word(path.second)) return false;
    if (accept(TokenKind::Dot) && !read_word(path.third)) return false;
  }
  path.span = {tree_.file, path.first.span.begin, last_end_};
  return true;
}

void StatementReader::clear_failure() {
  too_deep_ = false;
  bad_crossing_ = false;
}

bool StatementReader::count_operator() {
  // A chain leans to the left: its tree is as deep as it is long.
  too_deep_ = ++operators_ > nesting_limit_ * operators_per_level;
  return !too_deep_;
}

ExpressionId StatementReader::join(ExpressionKind kind, ExpressionId left, ExpressionId right) {
  Expression expression;
  expression.kind = kind;
  expression.left = left;
  expression.right = right;
  expression.span = cover(tree_.expressions[left].span, tree_.expressions[right].span);
  return tree_.expressions.add(expression);
}

bool StatementReader::read_expression(ExpressionId& id) {
  depth_ = 0;
  operators_ = 0;
  return read_sum(id);
}

bool StatementReader::read_sum(ExpressionId& id) {
  if (!read_term(id)) return false;
  while (current_.kind == TokenKind::Plus || current_.kind == TokenKind::Minus) {
    const ExpressionKind kind =
        current_.kind == TokenKind::Plus ? ExpressionKind::Add : ExpressionKind::Subtract;
    if (!count_operator()) return false;
    advance();
    ExpressionId right;
    if (!read_term(right)) return false;
    id = join(kind, id, right);
  }
  return true;
}

bool StatementReader::read_term(ExpressionId& id) {
  if (!read_factor(id)) return false;
  while (current_.kind == TokenKind::Star || current_.kind == TokenKind::Slash) {
    const ExpressionKind kind =
        current_.kind == TokenKind::Star ? ExpressionKind::Multiply : ExpressionKind::Divide;
    if (!count_operator()) return false;
    advance();
    ExpressionId right;
    if (!read_factor(right)) return false;
    id = join(kind, id, right);
  }
  return true;
}

bool StatementReader::read_number(Expression& expression) {
  expression.text = text(current_);
  advance();
  if (current_.kind == TokenKind::Unit) {
    expression.kind = ExpressionKind::Quantity;
    expression.unit = {text(current_), span(current_)};
    advance();
  }
  return true;
}

bool StatementReader::read_factor(ExpressionId& id) {
  Expression expression;
  expression.span = span(current_);
  bool good = true;
  switch (current_.kind) {
    case TokenKind::Minus:
    case TokenKind::OpenParenthesis: {
      if (!enter()) return false;
      const bool negate = current_.kind == TokenKind::Minus;
      advance();
      ExpressionId inner;
      good = negate ? read_factor(inner) : read_disjunction(inner) && accept(TokenKind::CloseParenthesis);
      if (!good) return false;
      --depth_;
      expression.span.end = last_end_;
      if (!negate) {
        tree_.expressions[inner].span = expression.span;
        id = inner;
        return true;
      }
      expression.kind = ExpressionKind::Negate;
      expression.left = inner;
      break;
    }
    case TokenKind::Number:
      good = read_number(expression);
      break;
    case TokenKind::Instant:
      expression.kind = ExpressionKind::Instant;
      expression.text = text(current_);
      advance();
      break;
    case TokenKind::Text: {
      expression.kind = ExpressionKind::Text;
      Word word;
      good = read_text(word);
      expression.text = word.text;
      break;
    }
    case TokenKind::True:
    case TokenKind::False:
      expression.kind = ExpressionKind::Boolean;
      expression.text = text(current_);
      advance();
      break;
    default: {
      expression.kind = ExpressionKind::Name;
      PathName path;
      good = read_path(path);
      if (good) expression.path = tree_.paths.add(path);
      break;
    }
  }
  if (!good) return false;
  expression.span.end = last_end_;
  id = tree_.expressions.add(expression);
  return true;
}

}  // namespace cairn
