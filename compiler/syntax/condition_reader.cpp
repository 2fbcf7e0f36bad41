// Conditions and the sentences of rules: the second half of the rules of grammar/CairnParser.g4 as functions.

#include "compiler/syntax/statement_reader.h"

namespace cairn {

bool StatementReader::read_condition(ExpressionId& id) {
  depth_ = 0;
  operators_ = 0;
  return read_disjunction(id);
}

bool StatementReader::enter() {
  too_deep_ = depth_ >= nesting_limit_;
  if (!too_deep_) ++depth_;
  return !too_deep_;
}

// A word, a number or a text by itself, without parentheses.
bool StatementReader::is_plain_value(ExpressionId id) const {
  const Expression& value = tree_.expressions[id];
  switch (value.kind) {
    case ExpressionKind::Number:
    case ExpressionKind::Quantity:
    case ExpressionKind::Instant:
    case ExpressionKind::Text:
      return text_[value.span.begin] != '(';
    case ExpressionKind::Name:
      return text_[value.span.begin] != '(' && !tree_.paths[value.path].second.is_present();
    default:
      return false;
  }
}

// `part is open or shut` is `part is open or part is shut`.
ExpressionId StatementReader::join_or(ExpressionId left, ExpressionId right) {
  ExpressionId last = left;
  if (tree_.expressions[last].kind == ExpressionKind::Or) last = tree_.expressions[last].right;
  if (tree_.expressions[last].kind == ExpressionKind::Is && is_plain_value(right)) {
    right = join(ExpressionKind::Is, tree_.expressions[last].left, right);
    tree_.expressions[right].span = tree_.expressions[tree_.expressions[right].right].span;
  }
  return join(ExpressionKind::Or, left, right);
}

bool StatementReader::read_disjunction(ExpressionId& id) {
  if (!read_conjunction(id)) return false;
  while (current_.kind == TokenKind::Or) {
    if (!count_operator()) return false;
    advance();
    ExpressionId right;
    if (!read_conjunction(right)) return false;
    id = join_or(id, right);
  }
  return true;
}

bool StatementReader::read_conjunction(ExpressionId& id) {
  if (!read_negation(id)) return false;
  while (current_.kind == TokenKind::And) {
    if (!count_operator()) return false;
    advance();
    ExpressionId right;
    if (!read_negation(right)) return false;
    id = join(ExpressionKind::And, id, right);
  }
  return true;
}

bool StatementReader::read_negation(ExpressionId& id) {
  if (current_.kind != TokenKind::Not) return read_comparison(id);
  Expression expression;
  expression.kind = ExpressionKind::Not;
  expression.span = span(current_);
  if (!enter()) return false;
  advance();
  if (!read_negation(expression.left)) return false;
  --depth_;
  expression.span.end = last_end_;
  id = tree_.expressions.add(expression);
  return true;
}

bool StatementReader::read_comparison(ExpressionId& id) {
  if (!(starts_happening() ? read_happening(id) : read_sum(id))) return false;
  ExpressionKind kind = ExpressionKind::Less;
  switch (current_.kind) {
    case TokenKind::Less:
      break;
    case TokenKind::LessOrEqual:
      kind = ExpressionKind::LessOrEqual;
      break;
    case TokenKind::Greater:
      kind = ExpressionKind::Greater;
      break;
    case TokenKind::GreaterOrEqual:
      kind = ExpressionKind::GreaterOrEqual;
      break;
    case TokenKind::Is:
      return read_is(id);
    default:
      return true;
  }
  advance();
  ExpressionId right;
  if (!read_sum(right)) return false;
  id = join(kind, id, right);
  return true;
}

bool StatementReader::read_is(ExpressionId& id) {
  advance();
  const bool negated = accept(TokenKind::Not);
  if (!accept(TokenKind::In)) {
    ExpressionId right;
    if (!read_sum(right)) return false;
    id = join(negated ? ExpressionKind::IsNot : ExpressionKind::Is, id, right);
    return true;
  }
  if (!accept(TokenKind::OpenBracket)) return false;
  Expression among;
  among.kind = negated ? ExpressionKind::NotAmong : ExpressionKind::Among;
  among.span = tree_.expressions[id].span;
  among.left = id;
  ExpressionId last;
  if (!accept(TokenKind::CloseBracket)) {
    do {
      Expression element;
      element.kind = ExpressionKind::Listed;
      if (!count_operator() || !read_sum(element.left)) return false;
      element.span = tree_.expressions[element.left].span;
      const ExpressionId added = tree_.expressions.add(element);
      (last.is_valid() ? tree_.expressions[last].right : among.right) = added;
      last = added;
    } while (accept(TokenKind::Comma));
    if (!accept(TokenKind::CloseBracket)) return false;
  }
  among.span.end = last_end_;
  id = tree_.expressions.add(among);
  return true;
}

bool StatementReader::starts_happening() const {
  return current_.kind == TokenKind::Command || current_.kind == TokenKind::Window ||
         current_.kind == TokenKind::Start || current_.kind == TokenKind::End ||
         current_.kind == TokenKind::Time;
}

bool StatementReader::read_happening(ExpressionId& id) {
  Expression expression;
  expression.span = span(current_);
  const TokenKind keyword = current_.kind;
  if (!enter()) return false;
  advance();
  bool good = false;
  switch (keyword) {
    case TokenKind::Command:
      good = read_command(expression);
      break;
    case TokenKind::Window:
      good = read_window(expression);
      break;
    case TokenKind::Time:
      expression.kind =
          current_.kind == TokenKind::Since ? ExpressionKind::TimeSince : ExpressionKind::TimeUntil;
      good = (accept(TokenKind::Since) || accept(TokenKind::Until)) && read_operand(expression.left);
      break;
    default:
      expression.kind = keyword == TokenKind::Start ? ExpressionKind::StartOf : ExpressionKind::EndOf;
      good = accept(TokenKind::Of) && read_operand(expression.left);
      break;
  }
  if (!good) return false;
  --depth_;
  expression.span.end = last_end_;
  id = tree_.expressions.add(expression);
  return true;
}

bool StatementReader::read_command(Expression& expression) {
  expression.kind = ExpressionKind::Command;
  PathName path;
  if (!read_word(path.first) || !accept(TokenKind::Dot) || !read_word(path.second)) return false;
  path.span = cover(path.first.span, path.second.span);
  expression.path = tree_.paths.add(path);
  if (!accept(TokenKind::OpenParenthesis) || accept(TokenKind::CloseParenthesis)) return true;
  ExpressionId last;
  do {
    Expression given;
    given.kind = ExpressionKind::Given;
    given.span = span(current_);
    PathName name;
    if (!count_operator() || !read_word(name.first) || !accept(TokenKind::Equals) || !read_sum(given.left))
      return false;
    name.span = name.first.span;
    given.path = tree_.paths.add(name);
    given.span.end = last_end_;
    const ExpressionId added = tree_.expressions.add(given);
    (last.is_valid() ? tree_.expressions[last].right : expression.right) = added;
    last = added;
  } while (accept(TokenKind::Comma));
  return accept(TokenKind::CloseParenthesis);
}

bool StatementReader::read_window(Expression& expression) {
  expression.kind = ExpressionKind::Window;
  PathName path;
  if (!read_word(path.first)) return false;
  path.span = path.first.span;
  expression.path = tree_.paths.add(path);
  if (current_.kind == TokenKind::Number) {
    Expression number;
    number.text = text(current_);
    number.span = span(current_);
    expression.left = tree_.expressions.add(number);
    advance();
  }
  if (accept(TokenKind::Opens)) expression.kind = ExpressionKind::WindowOpens;
  if (expression.kind == ExpressionKind::Window && accept(TokenKind::Closes)) {
    expression.kind = ExpressionKind::WindowCloses;
  }
  return true;
}

bool StatementReader::read_operand(ExpressionId& id) {
  if (starts_happening()) return read_happening(id);
  if (current_.kind != TokenKind::OpenParenthesis && current_.kind != TokenKind::Instant &&
      !is_name(current_.kind)) {
    return false;
  }
  return read_factor(id);
}

bool StatementReader::read_sentence(Sentence& sentence) {
  sentence.span = span(current_);
  sentence.never = current_.kind == TokenKind::Never;
  const bool plain = accept(TokenKind::Never) || accept(TokenKind::Always);
  if (!read_condition(sentence.condition)) return false;
  if (!(plain ? read_scope(sentence) : read_form(sentence))) return false;
  sentence.span.end = last_end_;
  return true;
}

bool StatementReader::read_interval(Sentence& sentence) {
  return read_expression(sentence.from) && accept(TokenKind::And) && read_expression(sentence.to);
}

bool StatementReader::read_scope(Sentence& sentence) {
  if (accept(TokenKind::While) && !read_condition(sentence.whilst)) return false;
  return !accept(TokenKind::Between) || read_interval(sentence);
}

bool StatementReader::read_form(Sentence& sentence) {
  switch (current_.kind) {
    case TokenKind::No:
      advance();
      sentence.form = SentenceForm::AtMost;
      return accept(TokenKind::More) && accept(TokenKind::Than) && read_most(sentence);
    case TokenKind::Lasts:
      advance();
      if (!accept(TokenKind::No)) return false;
      sentence.form =
          current_.kind == TokenKind::More ? SentenceForm::LastsAtMost : SentenceForm::LastsAtLeast;
      return (accept(TokenKind::More) || accept(TokenKind::LessWord)) && accept(TokenKind::Than) &&
             read_expression(sentence.amount);
    case TokenKind::Apart:
      advance();
      sentence.form = SentenceForm::Apart;
      return accept(TokenKind::By) && read_expression(sentence.amount);
    case TokenKind::Only:
      advance();
      return read_only(sentence);
    case TokenKind::Followed:
      advance();
      sentence.form = SentenceForm::Followed;
      return accept(TokenKind::By) && read_condition(sentence.other) && accept(TokenKind::Within) &&
             read_expression(sentence.amount);
    default:
      return read_scope(sentence);
  }
}

bool StatementReader::read_most(Sentence& sentence) {
  sentence.once = accept(TokenKind::Once);
  if (!sentence.once) {
    if (!read_expression(sentence.amount)) return false;
    sentence.times = accept(TokenKind::Times);
  }
  return !accept(TokenKind::In) || (accept(TokenKind::Any) && read_expression(sentence.within));
}

bool StatementReader::read_only(Sentence& sentence) {
  switch (current_.kind) {
    case TokenKind::Inside:
      sentence.form = SentenceForm::OnlyInside;
      break;
    case TokenKind::Outside:
      sentence.form = SentenceForm::OnlyOutside;
      break;
    case TokenKind::While:
      sentence.form = SentenceForm::OnlyWhile;
      break;
    case TokenKind::Before:
      sentence.form = SentenceForm::OnlyBefore;
      break;
    case TokenKind::After:
      sentence.form = SentenceForm::OnlyAfter;
      break;
    case TokenKind::Between:
      sentence.form = SentenceForm::OnlyBetween;
      break;
    default:
      return false;
  }
  advance();
  if (sentence.form == SentenceForm::OnlyBetween) return read_interval(sentence);
  if (!read_condition(sentence.other)) return false;
  if (sentence.form != SentenceForm::OnlyAfter || !accept(TokenKind::Of)) return true;
  sentence.amount = sentence.other;
  return read_condition(sentence.other);
}

bool StatementReader::read_holds(Statement& statement) {
  statement.kind = StatementKind::Holds;
  statement.keyword = span(current_);
  Sentence sentence;
  if (!read_sentence(sentence)) return false;
  statement.sentence = tree_.sentences.add(sentence);
  statement.span = sentence.span;
  return true;
}

bool StatementReader::read_waiver(Waiver& waiver) {
  if (!read_word(waiver.area)) return false;
  if (accept(TokenKind::Slash)) {
    if (current_.kind == TokenKind::Once) {  // of `modes/once`
      waiver.word = {text(current_), span(current_)};
      advance();
    } else if (!read_word(waiver.word)) {
      return false;
    }
  }
  if (accept(TokenKind::Of) && !read_text(waiver.subject)) return false;
  if (accept(TokenKind::To) && !read_expression(waiver.margin)) return false;
  return accept(TokenKind::From) && read_expression(waiver.from) && accept(TokenKind::To) &&
         read_expression(waiver.to) && accept(TokenKind::Because) && read_text(waiver.because) &&
         accept(TokenKind::Reference) && read_text(waiver.reference) && accept(TokenKind::Until) &&
         read_expression(waiver.until);
}

}  // namespace cairn
