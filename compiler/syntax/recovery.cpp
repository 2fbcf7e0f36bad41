// How a reading goes on after a mistake, so that one mistake gives one message.

#include <algorithm>
#include <string>
#include <utility>

#include "compiler/syntax/driver.h"
#include "compiler/text/catalogue.h"

namespace cairn {

void Driver::drop_rule() {
  OpenBlock& frame = frames_.back();
  if (!frame.dropped) tree_.items[frame.item].first_child = {};
  frame.dropped = true;
}

void Driver::report_in_rule(const Token& found) {
  const OpenBlock& frame = frames_.back();
  if (!frame.dropped)
    report_not_in_rule(place(found.begin), frame.opener, frame.last_child.is_valid(), sink());
}

bool Driver::follows_cut() {
  if (cut_at_ == 0 || reader_.last_end() != cut_at_) return false;
  const Span at = reader_.span(current());
  reader_.advance();
  resync(at, false);
  return true;
}

void Driver::stray(const Token& first, bool same_line) {
  const Token at = current();
  if (follows_cut()) return;
  // A sign that stands where a `}` might: no `}` is missed in its place.
  if (!is_name(at.kind) && !is_word(at.kind) && reader_.first_on_line(at)) ++assumed_;
  report_unknown_statement(place(after_statement_ || same_line ? last_statement_ : first.begin), true,
                           same_line, sink());
  after_statement_ = false;
  const std::uint32_t end_before = reader_.last_end();
  reader_.advance();
  if (at.kind == TokenKind::OpenBrace) {
    // A brace written twice opens one block; on a line of its own it lacks its head.
    const bool doubled = end_before > 0 && text_[end_before - 1] == '{' && !reader_.first_on_line(at);
    if (!doubled) push_dropped(reader_.span(at), false);
    return;
  }
  if (current().kind == TokenKind::Else && in_then()) {  // the sign stands for the `}`
    pop_frame();
    frames_.back().may_else = false;
    open_else(true);
    return;
  }
  resync(reader_.span(at), false);
}

void Driver::report_outside(const Token& first) {
  const std::string word(reader_.text(first));
  if (misplaced_close_.is_valid()) {
    sink()
        .report(diagnostics::UnexpectedToken, misplaced_close_, std::string("`}`"),
                std::string("a statement"))
        .under("this stands further right than the block it closes: it is probably one too many")
        .context(reader_.span(first), "so that this stands outside any load or routine")
        .hint("take the `}` out");
    misplaced_close_ = {};
    return;
  }
  sink()
      .report(diagnostics::OutsideLoad, reader_.span(first), word)
      .hint("a closing brace too many above also looks like this");
}

bool Driver::in_then() const { return frames_.size() > 1 && frames_[frames_.size() - 2].may_else; }

void Driver::lone_else(const Token& first) {
  if (in_then()) {
    if (!frames_.back().dropped) {
      sink()
          .report(diagnostics::UnexpectedToken, reader_.span(first), std::string("the reserved word `else`"),
                  std::string("a statement or `}`"))
          .context(frames_.back().opener, "the block before it was opened here")
          .hint("`else` follows the `}` of its `if`");
    }
    pop_frame();
    frames_.back().may_else = false;
    open_else(true);
    return;
  }
  // After a block whose head was broken that head was its `if`, and has been reported.
  if (broken_close_ != reader_.last_end()) {
    stray_else(first);
    // The `}` before it probably closed one block too many.
    push_dropped(reader_.span(first), true);
  }
  reader_.advance();
  resync(reader_.span(first), true);
}

void Driver::stray_else(const Token& first) {
  report_unknown_statement(place(after_statement_ ? last_statement_ : first.begin), true, after_statement_,
                           sink());
  after_statement_ = false;
}

bool Driver::is_unfinished() const {
  const Token& next = current();
  if (next.kind == TokenKind::EndOfFile || next.kind == TokenKind::CloseBrace ||
      next.kind == TokenKind::SpanWord || starts_item(next.kind) || starts_statement(next.kind) ||
      reader_.first_on_line(next)) {
    return false;
  }
  return !near_statement(place(next.begin));
}

void Driver::watch_layout(const Token& first) {
  const OpenBlock& frame = frames_.back();
  if (crowded_.block.is_valid() || frame.single || frame.assumed || !reader_.first_on_line(first)) return;
  if (indentation(first.begin) > indentation(frame.opener.begin)) return;
  crowded_ = {frame.opener, reader_.span(first)};
}

void Driver::report_unclosed(const Token& found) {
  if (assumed_ > 0) return;  // a missing `{` has been reported, its `}` closed another block
  Crowded blamed = crowded_;
  if (suspect_.block.is_valid() &&
      (!blamed.block.is_valid() || suspect_.statement.begin < blamed.statement.begin)) {
    blamed = suspect_;
  }
  if (!blamed.block.is_valid()) blamed.block = frames_.back().opener;
  report_unclosed_block(place(found.begin), blamed.block, blamed.statement, reader_.is_at_margin(found),
                        diagnostics_);
}

bool Driver::is_known_misuse(const Token& first, const Token& failed) {
  if (failed.kind != TokenKind::Unit && !is_keyword(failed.kind)) return false;
  const std::string_view word = reader_.text(failed);
  if (std::find(misused_.begin(), misused_.end(), word) != misused_.end()) return true;
  const bool defines = first.kind == TokenKind::Let || first.kind == TokenKind::Mark;
  if (defines && reader_.last_end() == first.end) misused_.push_back(word);
  return false;
}

void Driver::fail(const Token& first, bool opens_block) {
  const Token failed = current();
  after_statement_ = false;
  const bool at_once = reader_.last_end() == first.end;
  if (failed.kind == TokenKind::CloseBrace && at_once && frames_.empty() && cut_blocks_ > 0) {
    --cut_blocks_;  // the item and the `}` above it have changed places, which has been reported
    reader_.advance();
    resync(reader_.span(first), opens_block);
    return;
  }
  if (failed.kind == TokenKind::CloseBrace) cut_at_ = failed.end;
  if (reader_.too_deep()) {
    sink()
        .report(diagnostics::TooDeepNesting, reader_.span(failed), limits_.nesting)
        .hint("name parts of the expression with `let`");
  } else if (reader_.bad_crossing()) {
    sink()
        .report(diagnostics::UnexpectedToken, reader_.span(failed), token_words(text_, failed),
                std::string("the end of the statement"))
        .hint("only a predicted quantity crosses a value: `sun.elevation falls below 0.5 deg`");
  } else if (!is_known_misuse(first, failed)) {
    report_mistake(place(first.begin), sink());
  }
  if (at_once && failed.kind == first.kind)
    return;  // a keyword written twice: the second begins the statement
  const bool fresh_statement =
      (starts_statement(failed.kind) && (failed.kind != TokenKind::For || first.kind != TokenKind::Load)) ||
      failed.kind == TokenKind::SpanWord;
  if (opens_block && fresh_statement && first.kind != TokenKind::After) {
    if (!stands_before_its_brace(failed)) {
      push_dropped(reader_.span(first), true);
      return;
    }
    reader_.advance();
    reader_.advance();
    push_dropped(reader_.span(first), false);
    resync(reader_.span(first), false);
    return;
  }
  resync(reader_.span(first), opens_block);
}

bool Driver::stands_before_its_brace(const Token& keyword) const {
  TokenSource source(text_, keyword.end, nullptr);
  if (source.next().kind != TokenKind::OpenBrace) return false;
  return keyword.kind != TokenKind::Together || source.next().kind == TokenKind::OpenBrace;
}

void Driver::resync(Span owner, bool opens_block) {
  for (bool at_once = true;; at_once = false) {
    const Token token = current();
    if (token.kind == TokenKind::CloseBrace && opens_block && frames_.empty()) push_dropped(owner, true);
    if (token.kind == TokenKind::EndOfFile || token.kind == TokenKind::CloseBrace) return;
    if (token.kind == TokenKind::OpenBrace) {
      reader_.advance();
      push_dropped(owner, false);
      if (at_once && opens_block) skip_rest_of_line();  // the head's last word may stand behind the brace
      return;
    }
    const bool keyword =
        starts_item(token.kind) || starts_statement(token.kind) || token.kind == TokenKind::SpanWord;
    if (keyword && reader_.first_on_line(token)) {
      if (opens_block && !starts_item(token.kind)) push_dropped(owner, true);
      return;
    }
    if (reader_.first_on_line(token) && near_statement(place(token.begin))) return;
    reader_.advance();
  }
}

void Driver::skip_rest_of_line() {
  for (;;) {
    const Token& token = current();
    if (reader_.first_on_line(token) || starts_statement(token.kind) || token.kind == TokenKind::EndOfFile ||
        token.kind == TokenKind::OpenBrace || token.kind == TokenKind::CloseBrace) {
      return;
    }
    reader_.advance();
  }
}

void Driver::push_dropped(Span owner, bool assumed) {
  if (frames_.size() > static_cast<std::size_t>(limits_.nesting < 1 ? 1 : limits_.nesting)) {
    if (!assumed) skip_to_close();
    return;
  }
  OpenBlock frame;
  frame.opener = owner;
  frame.dropped = true;
  frame.assumed = assumed;
  const auto owner_word = TokenSource(text_, owner.begin, nullptr).next().kind;
  frame.silent = (!frames_.empty() && frames_.back().silent) ||
                 !(starts_item(owner_word) || starts_statement(owner_word) || owner_word == TokenKind::Else);
  if (assumed) ++assumed_;
  frame.is_rule = text_.substr(owner.begin, owner.end - owner.begin) == "rule";
  if (text_.substr(owner.begin, owner.end - owner.begin) == "if") {
    OpenBlock holder = frame;
    holder.single = true;
    holder.may_else = true;
    frames_.push_back(holder);
  }
  frames_.push_back(frame);
}

void Driver::skip_block() {
  reader_.advance();
  for (;;) {
    const TokenKind kind = current().kind;
    if (kind == TokenKind::EndOfFile || kind == TokenKind::CloseBrace) return end_singles();
    reader_.advance();
    if (kind == TokenKind::OpenBrace) break;
  }
  skip_to_close();
  end_singles();
}

void Driver::skip_to_close() {
  std::size_t open = 1;
  while (open > 0 && current().kind != TokenKind::EndOfFile) {
    if (current().kind == TokenKind::OpenBrace) ++open;
    if (current().kind == TokenKind::CloseBrace) --open;
    reader_.advance();
  }
  if (open > 0) ++assumed_;  // unclosed inside what has been reported already
}

void Driver::report_escapes() {
  for (const Span span : reader_.take_bad_escapes()) {
    sink()
        .report(diagnostics::BadEscape, span, std::string(text_.substr(span.begin, span.end - span.begin)))
        .hint("write a backslash itself as `\\\\`");
  }
}

void Driver::check_error_limit() {
  if (diagnostics_.error_count() - errors_before_ < limits_.errors) return;
  diagnostics_.report(diagnostics::TooManyErrors, reader_.span(current()), limits_.errors)
      .hint(
          "mend the ones above and run again; if the first is at the top of the file, is it the right "
          "file?");
  stopped_ = true;
}

}  // namespace cairn
