// The driver: keeps the open blocks on a stack of its own, reads head by head and leaf by leaf, and mends.
//
// After a mistake reading goes on at the next keyword that begins a line or at a closing brace. A block whose
// head is broken is still read, so that its closing brace closes nothing else, but its statements are
// dropped.

#include "compiler/syntax/parse.h"

#include <algorithm>
#include <cstdint>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include "compiler/syntax/mistakes.h"
#include "compiler/syntax/open_block.h"
#include "compiler/syntax/prelude.h"
#include "compiler/syntax/statement_reader.h"
#include "compiler/syntax/utf8.h"
#include "compiler/text/catalogue.h"

namespace cairn {
namespace {

class Driver {
 public:
  Driver(std::string_view text, std::size_t offset, const ParseLimits& limits, Tree& tree,
         Diagnostics& diagnostics)
      : text_(text),
        limits_(limits),
        tree_(tree),
        diagnostics_(diagnostics),
        reader_(text, offset, limits.nesting, tree),
        errors_before_(diagnostics.error_count()) {}

  void run() {
    while (!stopped_) {
      const bool more = frames_.empty() ? item_step() : statement_step();
      report_escapes();
      check_error_limit();
      if (!more) break;
    }
    reader_.finish();
  }

 private:
  [[nodiscard]] const Token& current() const { return reader_.current(); }
  // Where to report: nowhere, inside a block that nobody knows.
  Diagnostics& sink() { return !frames_.empty() && frames_.back().silent ? unheard_ : diagnostics_; }
  [[nodiscard]] MistakePlace place(std::uint32_t begin) const {
    return {text_, tree_.file, begin, current()};
  }

  bool item_step() {
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
      sink()
          .report(diagnostics::OutsideLoad, reader_.span(first), std::string(reader_.text(first)))
          .hint("a closing brace too many above also looks like this");
      push_dropped(reader_.span(first), true);
      return true;
    }
    if (first.kind == TokenKind::CloseBrace && cut_blocks_ > 0) {
      --cut_blocks_;  // of a block that an item inside it has ended, which has been reported
      reader_.advance();
      return true;
    }
    if (follows_cut()) return true;
    const bool same_line = !reader_.first_on_line(first) && after_statement_;
    report_unknown_statement(place(after_statement_ ? last_statement_ : first.begin), false, same_line,
                             sink());
    after_statement_ = false;
    reader_.advance();
    resync(reader_.span(first), false);
    return true;
  }

  void finish_leaf_item(bool good, Item& item, const Token& first) {
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

  void open_item(bool good, Item& item, const Token& first) {
    if (!good) {
      fail(first, true);
      return;
    }
    OpenBlock frame;
    frame.opener = item.keyword;
    frame.is_load = item.kind == ItemKind::Load;
    frame.is_rule = item.kind == ItemKind::Rule;
    frame.item = tree_.items.size();
    tree_.items.push_back(std::move(item));
    frames_.push_back(frame);
  }

  bool statement_step() {
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
    } else {
      stray(first, !reader_.first_on_line(first) && after_statement_);
    }
    return true;
  }

  // A rule holds one sentence.
  void rule_line(const Token& first) {
    if (std::exchange(frames_.back().has_sentence, true) || !starts_sentence(first.kind)) {
      report_in_rule(first);
      drop_rule();
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
    add(std::move(statement));
    after_statement_ = false;
  }

  // It is not what was meant.
  void drop_rule() {
    OpenBlock& frame = frames_.back();
    if (!frame.dropped) tree_.items[frame.item].first_child = {};
    frame.dropped = true;
  }

  void report_in_rule(const Token& found) {
    const OpenBlock& frame = frames_.back();
    if (!frame.dropped)
      report_not_in_rule(place(found.begin), frame.opener, frame.last_child.is_valid(), sink());
  }

  // The rest of a statement that a `}` has cut short, which has been reported.
  bool follows_cut() {
    if (cut_at_ == 0 || reader_.last_end() != cut_at_) return false;
    const Span at = reader_.span(current());
    reader_.advance();
    resync(at, false);
    return true;
  }

  // A token that begins no statement.
  void stray(const Token& first, bool same_line) {
    const Token at = current();
    if (follows_cut()) return;
    // A sign that stands where a `}` might: no `}` is missed in its place.
    if (!is_name(at.kind) && !is_word(at.kind) && reader_.first_on_line(at)) ++assumed_;
    report_unknown_statement(place(after_statement_ || same_line ? last_statement_ : first.begin), true,
                             same_line, sink());
    after_statement_ = false;
    reader_.advance();
    resync(reader_.span(at), false);
  }

  // Something stands on the statement's line that neither begins a statement nor ends the block.
  [[nodiscard]] bool is_unfinished() const {
    const Token& next = current();
    if (next.kind == TokenKind::EndOfFile || next.kind == TokenKind::CloseBrace ||
        next.kind == TokenKind::SpanWord || starts_item(next.kind) || starts_statement(next.kind) ||
        reader_.first_on_line(next)) {
      return false;
    }
    return !near_statement(place(next.begin));
  }

  void leaf(const Token& first) {
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
    add(std::move(statement));
    after_statement_ = true;
    last_statement_ = first.begin;
    end_singles();
  }

  // Notes the first statement that the layout puts outside the block it is in.
  void watch_layout(const Token& first) {
    const OpenBlock& frame = frames_.back();
    if (crowded_.block.is_valid() || frame.single || frame.assumed || !reader_.first_on_line(first)) return;
    if (indentation(first.begin) > indentation(frame.opener.begin)) return;
    crowded_ = {frame.opener, reader_.span(first)};
  }

  void head(const Token& first) {
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
      open_if(frame, std::move(statement));
      return;
    }
    if (statement.kind == StatementKind::After) {
      if (current().kind == TokenKind::OpenBrace) {
        reader_.advance();
      } else {
        frame.single = true;
      }
    }
    if (!frame.dropped) frame.statement = add(std::move(statement));
    frames_.push_back(frame);
    after_statement_ = false;
  }

  // The `if` itself stays open until its `else` is there or not; its blocks are statements inside it.
  void open_if(OpenBlock frame, Statement statement) {
    frame.single = true;
    frame.may_else = true;
    Statement then;
    then.kind = StatementKind::Then;
    then.keyword = reader_.span(current());
    then.span = then.keyword;
    reader_.advance();
    if (!frame.dropped) frame.statement = add(std::move(statement));
    frames_.push_back(frame);
    push_inside(std::move(then));
    after_statement_ = false;
  }

  void push_inside(Statement block) {
    OpenBlock frame;
    frame.opener = block.keyword;
    frame.dropped = frames_.back().dropped;
    frame.silent = frames_.back().silent;
    if (!frame.dropped) frame.statement = add(std::move(block));
    frames_.push_back(frame);
  }

  void open_else() {
    const Token first = current();
    Statement block;
    block.kind = StatementKind::Else;
    block.keyword = reader_.span(first);
    block.span = block.keyword;
    reader_.advance();
    after_statement_ = false;
    if (current().kind == TokenKind::If) {
      push_inside(std::move(block));
      frames_.back().single = true;
      return;
    }
    if (current().kind != TokenKind::OpenBrace) {
      fail(first, true);
      return;
    }
    reader_.advance();
    push_inside(std::move(block));
  }

  void span_line(const Token& first) {
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

  void frames_span_seen(Span keyword) {
    Item& load = tree_.items[frames_.back().item];
    if (!load.span_keyword.is_valid()) load.span_keyword = keyword;
  }

  StatementId add(Statement statement) {
    OpenBlock& frame = frames_.back();
    if (frame.dropped) return {};
    const StatementId id = tree_.statements.add(std::move(statement));
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

  // A statement has ended: so have the `after D` before it.
  void end_singles() {
    while (!frames_.empty() && frames_.back().single) pop_frame();
  }

  void pop_frame() {
    const OpenBlock frame = frames_.back();
    frames_.pop_back();
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

  void close_block(const Token& brace) {
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
    if (!suspect_.is_valid() && reader_.first_on_line(brace) &&
        indentation(brace.begin) < indentation(frames_.back().opener.begin)) {
      suspect_ = frames_.back().opener;
    }
    reader_.advance();
    pop_frame();
    after_statement_ = true;
    last_statement_ = brace.begin;
    if (!frames_.empty() && std::exchange(frames_.back().may_else, false) &&
        current().kind == TokenKind::Else) {
      open_else();
      return;
    }
    end_singles();
  }

  [[nodiscard]] std::size_t indentation(std::uint32_t offset) const { return indentation_at(text_, offset); }

  void report_unclosed(const Token& found) {
    if (assumed_ > 0) return;  // a missing `{` has been reported, its `}` closed another block
    Span blame = crowded_.block.is_valid() ? crowded_.block : suspect_;
    if (!blame.is_valid()) blame = frames_.back().opener;
    report_unclosed_block(place(found.begin), blame, crowded_.statement, reader_.is_at_margin(found),
                          diagnostics_);
  }

  // `let s = ...` has been reported; that `s` is no name need not be said again wherever it is used.
  bool is_known_misuse(const Token& first, const Token& failed) {
    if (failed.kind != TokenKind::Unit && !is_keyword(failed.kind)) return false;
    const std::string_view word = reader_.text(failed);
    if (std::find(misused_.begin(), misused_.end(), word) != misused_.end()) return true;
    const bool defines = first.kind == TokenKind::Let || first.kind == TokenKind::Mark;
    if (defines && reader_.last_end() == first.end) misused_.push_back(word);
    return false;
  }

  // Reports a broken statement, head or item that begins at `first`, and finds the place to go on from.
  void fail(const Token& first, bool opens_block) {
    const Token failed = current();
    after_statement_ = false;
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
    const bool fresh_statement =
        (starts_statement(failed.kind) && (failed.kind != TokenKind::For || first.kind != TokenKind::Load)) ||
        failed.kind == TokenKind::SpanWord;
    if (opens_block && fresh_statement) {
      push_dropped(reader_.span(first), true);
      return;
    }
    resync(reader_.span(first), opens_block);
  }

  // Skips to a keyword that begins a line, to `}` or past `{`, which opens a block whose statements are
  // dropped.
  void resync(Span owner, bool opens_block) {
    for (;;) {
      const Token token = current();
      if (token.kind == TokenKind::CloseBrace && opens_block && frames_.empty()) push_dropped(owner, true);
      if (token.kind == TokenKind::EndOfFile || token.kind == TokenKind::CloseBrace) return;
      if (token.kind == TokenKind::OpenBrace) {
        reader_.advance();
        push_dropped(owner, false);
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

  void push_dropped(Span owner, bool assumed) {
    if (frames_.size() > static_cast<std::size_t>(limits_.nesting < 1 ? 1 : limits_.nesting)) {
      if (!assumed) skip_to_close();
      return;
    }
    OpenBlock frame;
    frame.opener = owner;
    frame.dropped = true;
    frame.assumed = assumed;
    const auto owner_word = TokenSource(text_, owner.begin, nullptr).next().kind;
    frame.silent =
        (!frames_.empty() && frames_.back().silent) ||
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

  // Past the block that begins here or later.
  void skip_block() {
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

  void skip_to_close() {
    std::size_t open = 1;
    while (open > 0 && current().kind != TokenKind::EndOfFile) {
      if (current().kind == TokenKind::OpenBrace) ++open;
      if (current().kind == TokenKind::CloseBrace) --open;
      reader_.advance();
    }
    if (open > 0) ++assumed_;  // unclosed inside what has been reported already
  }

  void report_escapes() {
    for (const Span span : reader_.take_bad_escapes()) {
      sink()
          .report(diagnostics::BadEscape, span, std::string(text_.substr(span.begin, span.end - span.begin)))
          .hint("write a backslash itself as `\\\\`");
    }
  }

  void check_error_limit() {
    if (diagnostics_.error_count() - errors_before_ < limits_.errors) return;
    diagnostics_.report(diagnostics::TooManyErrors, reader_.span(current()), limits_.errors)
        .hint(
            "mend the ones above and run again; if the first is at the top of the file, is it the right "
            "file?");
    stopped_ = true;
  }

  std::string_view text_;
  ParseLimits limits_;
  Tree& tree_;
  Diagnostics& diagnostics_;
  StatementReader reader_;
  std::size_t errors_before_;
  std::vector<OpenBlock> frames_;
  Span suspect_;
  std::size_t assumed_ = 0;
  std::size_t cut_blocks_ = 0;
  Crowded crowded_;
  std::vector<std::string_view> misused_;
  bool after_statement_ = false;  // the token before this one ended a statement, which began at:
  std::uint32_t last_statement_ = 0;
  bool stopped_ = false;
  std::uint32_t cut_at_ = 0;  // the end of a `}` that cut a statement short: what follows belonged to it
  Diagnostics unheard_;
};

}  // namespace

Tree parse(const SourceFiles& files, FileId file, const ParseLimits& limits, Diagnostics& diagnostics) {
  Tree tree;
  tree.file = file;
  const std::string_view text = files.text(file);
  constexpr std::size_t addressable = std::numeric_limits<std::uint32_t>::max() - 1;
  const std::size_t most = limits.file_bytes < addressable ? limits.file_bytes : addressable;
  if (text.size() > most) {
    diagnostics.report(diagnostics::FileTooLarge, Span{file, 0, 0}, text.size(), most)
        .hint("split the file and bring the parts in with `use`");
    return tree;
  }
  if (const auto bad = first_bad_byte(text)) {
    report_encoding(text, {file, static_cast<std::uint32_t>(*bad), static_cast<std::uint32_t>(*bad) + 1},
                    diagnostics);
    return tree;
  }
  const std::size_t offset = text.starts_with("\xEF\xBB\xBF") ? 3 : 0;
  reserve_tables(text, offset, tree);
  Driver(text, offset, limits, tree, diagnostics).run();
  return tree;
}

}  // namespace cairn
