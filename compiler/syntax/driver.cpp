#include "compiler/syntax/driver.h"

#include <string>
#include <utility>

#include "compiler/text/catalogue.h"

namespace cairn {

void Driver::run() {
  while (!stopped_) {
    const bool more = frames_.empty() ? item_step() : statement_step();
    report_escapes();
    check_error_limit();
    if (!more) break;
  }
  reader_.finish();
}

bool Driver::item_step() {
  reader_.clear_failure();
  const Token first = current();
  Item item;
  switch (first.kind) {
    case TokenKind::EndOfFile:
      return false;
    case TokenKind::Use:
      finish_leaf_item(reader_.read_use(item), item, first);
      return true;
    case TokenKind::Let:
      finish_leaf_item(reader_.read_let(item), item, first);
      return true;
    case TokenKind::Load:
      open_item(reader_.read_load_head(item), item, first);
      return true;
    case TokenKind::Routine:
      open_item(reader_.read_routine_head(item), item, first);
      return true;
    case TokenKind::Rule:
      open_item(reader_.read_rule_head(item), item, first);
      return true;
    default:
      break;
  }
  if (starts_statement(first.kind) || first.kind == TokenKind::SpanWord) {
    report_outside(first);
    push_dropped(reader_.span(first), true);
    return true;
  }
  if (first.kind == TokenKind::CloseBrace && cut_blocks_ > 0) {
    --cut_blocks_;  // of a block that an item inside it has ended, which has been reported
    reader_.advance();
    return true;
  }
  if (first.kind == TokenKind::Else) {
    lone_else(first);
    return true;
  }
  if (follows_cut()) return true;
  if (first.kind == TokenKind::CloseBrace && misplaced_close_.is_valid()) {
    report_outside(first);
    reader_.advance();
    return true;
  }
  const bool same_line = !reader_.first_on_line(first) && after_statement_;
  report_unknown_statement(place(after_statement_ ? last_statement_ : first.begin), false, same_line, sink());
  after_statement_ = false;
  reader_.advance();
  resync(reader_.span(first), false);
  return true;
}

void Driver::finish_leaf_item(bool good, Item& item, const Token& first) {
  if (!good) {
    fail(first, false);
    return;
  }
  after_statement_ = true;
  last_statement_ = first.begin;
  const Token& next = current();
  const bool unfinished = next.kind != TokenKind::EndOfFile && !starts_item(next.kind) &&
                          next.kind != TokenKind::Let && !reader_.first_on_line(next) &&
                          !near_statement(place(next.begin));
  if (!unfinished) tree_.items.push_back(std::move(item));  // else: what follows is part of it
}

void Driver::open_item(bool good, Item& item, const Token& first) {
  if (!good) {
    fail(first, true);
    return;
  }
  suspect_ = {};
  crowded_ = {};
  misplaced_close_ = {};
  OpenBlock frame;
  frame.opener = item.keyword;
  frame.is_load = item.kind == ItemKind::Load;
  frame.is_rule = item.kind == ItemKind::Rule;
  frame.item = tree_.items.size();
  tree_.items.push_back(std::move(item));
  frames_.push_back(frame);
}

bool Driver::statement_step() {
  reader_.clear_failure();
  const Token first = current();
  if (first.kind == TokenKind::EndOfFile || starts_item(first.kind)) {
    report_unclosed(first);
    cut_blocks_ = frames_.size();
    while (!frames_.empty()) pop_frame();
    return first.kind != TokenKind::EndOfFile;
  }
  if (first.kind == TokenKind::CloseBrace) {
    close_block(first);
  } else if (frames_.back().is_rule) {
    rule_line(first);
  } else if (first.kind == TokenKind::SpanWord) {
    span_line(first);
  } else if (starts_leaf(first.kind)) {
    leaf(first);
  } else if (starts_head(first.kind)) {
    head(first);
  } else if (first.kind == TokenKind::Else) {
    lone_else(first);
  } else {
    stray(first, !reader_.first_on_line(first) && after_statement_);
  }
  return true;
}

void Driver::rule_line(const Token& first) {
  if (std::exchange(frames_.back().has_sentence, true) || !starts_sentence(first.kind)) {
    report_in_rule(first);
    drop_rule();
    // A sign that stands where the `}` might: no `}` is missed in its place.
    if (!is_name(first.kind) && !is_word(first.kind) && reader_.first_on_line(first)) ++assumed_;
    reader_.advance();
    resync(reader_.span(first), false);
    return;
  }
  Statement statement;
  if (!reader_.read_holds(statement)) {
    frames_.back().dropped = true;  // what else is in the rule is not looked at
    fail(first, false);
    return;
  }
  add(statement);
  after_statement_ = false;
}

void Driver::leaf(const Token& first) {
  watch_layout(first);
  Statement statement;
  if (!reader_.read_leaf(statement)) {
    fail(first, false);
    end_singles();
    return;
  }
  last_statement_ = first.begin;
  if (is_unfinished()) {
    // What follows belongs to the statement, which is therefore not the one that was read.
    stray(first, true);
    end_singles();
    return;
  }
  add(statement);
  after_statement_ = true;
  last_statement_ = first.begin;
  end_singles();
}

void Driver::head(const Token& first) {
  watch_layout(first);
  if (frames_.size() >= static_cast<std::size_t>(limits_.nesting < 1 ? 1 : limits_.nesting)) {
    sink()
        .report(diagnostics::TooDeepNesting, reader_.span(first), limits_.nesting)
        .hint("move the inner blocks into a `routine`");
    skip_block();
    return;
  }
  Statement statement;
  if (!reader_.read_head(statement)) {
    fail(first, true);
    return;
  }
  OpenBlock frame;
  frame.opener = statement.keyword;
  frame.dropped = frames_.back().dropped;
  frame.silent = frames_.back().silent;
  if (statement.kind == StatementKind::If) {
    open_if(frame, statement);
    return;
  }
  if (statement.kind == StatementKind::After) {
    if (current().kind == TokenKind::OpenBrace) {
      reader_.advance();
    } else {
      frame.single = true;
    }
  }
  if (!frame.dropped) frame.statement = add(statement);
  frames_.push_back(frame);
  after_statement_ = false;
}

void Driver::open_if(OpenBlock frame, Statement statement) {
  frame.single = true;
  frame.may_else = true;
  Statement then;
  then.kind = StatementKind::Then;
  then.keyword = reader_.span(current());
  then.span = then.keyword;
  reader_.advance();
  if (!frame.dropped) frame.statement = add(statement);
  frames_.push_back(frame);
  push_inside(then);
  after_statement_ = false;
}

void Driver::push_inside(Statement block) {
  OpenBlock frame;
  frame.opener = block.keyword;
  frame.dropped = frames_.back().dropped;
  frame.silent = frames_.back().silent;
  if (!frame.dropped) frame.statement = add(block);
  frames_.push_back(frame);
}

void Driver::open_else(bool after_report) {
  const Token first = current();
  Statement block;
  block.kind = StatementKind::Else;
  block.keyword = reader_.span(first);
  block.span = block.keyword;
  reader_.advance();
  after_statement_ = false;
  if (after_report && current().kind == TokenKind::CloseBrace) reader_.advance();  // it stands behind `else`
  if (current().kind == TokenKind::If) {
    push_inside(block);
    frames_.back().single = true;
    return;
  }
  if (current().kind != TokenKind::OpenBrace) {
    fail(first, true);
    return;
  }
  reader_.advance();
  push_inside(block);
}

void Driver::span_line(const Token& first) {
  Item line_holder;
  Span line;
  if (!reader_.read_span_line(line_holder, line)) {
    if (frames_.back().is_load) frames_span_seen(reader_.span(first));
    fail(first, false);
    return;
  }
  after_statement_ = true;
  last_statement_ = first.begin;
  const OpenBlock& frame = frames_.back();
  if (frame.dropped) return;
  if (!frame.is_load) {
    sink()
        .report(diagnostics::UnexpectedToken, reader_.span(first), std::string("the reserved word `span`"),
                std::string("a statement or `}`"))
        .hint("`span` stands once in a load, outside its inner blocks");
    end_singles();
    return;
  }
  Item& load = tree_.items[frame.item];
  if (load.span_keyword.is_valid()) {
    sink()
        .report(diagnostics::DuplicateSpan, line)
        .context(load.span_keyword, "the first stands here")
        .hint("keep one of the two; a load covers one stretch of time");
    return;
  }
  load.span_keyword = line_holder.span_keyword;
  load.span_from = line_holder.span_from;
  load.span_to = line_holder.span_to;
}

void Driver::frames_span_seen(Span keyword) {
  Item& load = tree_.items[frames_.back().item];
  if (!load.span_keyword.is_valid()) load.span_keyword = keyword;
}

StatementId Driver::add(Statement statement) {
  OpenBlock& frame = frames_.back();
  if (frame.dropped) return {};
  const StatementId id = tree_.statements.add(statement);
  if (frame.last_child.is_valid()) {
    tree_.statements[frame.last_child].next = id;
  } else if (frame.statement.is_valid()) {
    tree_.statements[frame.statement].first_child = id;
  } else {
    tree_.items[frame.item].first_child = id;
  }
  frame.last_child = id;
  return id;
}

void Driver::end_singles() {
  while (!frames_.empty() && frames_.back().single) pop_frame();
}

void Driver::pop_frame() {
  const OpenBlock frame = frames_.back();
  frames_.pop_back();
  if (frame.dropped) broken_close_ = reader_.last_end();
  if (frame.dropped) return;
  if (frame.statement.is_valid()) {
    tree_.statements[frame.statement].span.end = reader_.last_end();
    return;
  }
  Item& item = tree_.items[frame.item];
  item.span.end = reader_.last_end();
  const bool has_mistake = diagnostics_.has_error_at(item.keyword);  // a load inside another
  if (item.kind == ItemKind::Load && !item.span_keyword.is_valid() && !has_mistake) {
    diagnostics_.report(diagnostics::MissingSpan, item.keyword)
        .hint(
            "every load begins with the time it covers: `span 2031-05-14T06:00:00Z to "
            "2031-05-18T00:00:00Z`");
  }
}

void Driver::close_block(const Token& brace) {
  if (frames_.back().single) {
    sink()
        .report(diagnostics::UnexpectedToken, reader_.span(brace), std::string("`}`"),
                std::string("a statement or `{`"))
        .context(frames_.back().opener, "`after` waits for its statement")
        .hint("`after` is written `after DURATION STATEMENT` or `after DURATION { ... }`");
    end_singles();
    if (frames_.empty()) return;
  }
  if (frames_.back().is_rule && !frames_.back().has_sentence && !frames_.back().dropped)
    report_in_rule(brace);
  if (reader_.first_on_line(brace)) {
    const std::size_t column = indentation(brace.begin);
    const std::size_t opener = indentation(frames_.back().opener.begin);
    if (!suspect_.block.is_valid() && column < opener)
      suspect_ = {frames_.back().opener, reader_.span(brace)};
    if (!misplaced_close_.is_valid() && column > opener) misplaced_close_ = reader_.span(brace);
  } else if (!misplaced_close_.is_valid() && reader_.last_end() > frames_.back().opener.end &&
             text_[reader_.last_end() - 1] == '}' &&
             indentation(brace.begin) > indentation(frames_.back().opener.begin)) {
    misplaced_close_ = reader_.span(brace);
  }
  reader_.advance();
  pop_frame();
  after_statement_ = true;
  last_statement_ = brace.begin;
  if (!frames_.empty() && std::exchange(frames_.back().may_else, false) &&
      current().kind == TokenKind::Else) {
    open_else(false);
    return;
  }
  end_singles();
}

}  // namespace cairn
