// The driver of a reading: keeps the open blocks on a stack of its own, reads head by head and leaf by leaf,
// and mends.
//
// After a mistake reading goes on at the next keyword that begins a line or at a closing brace. A block whose
// head is broken is still read, so that its closing brace closes nothing else, but its statements are
// dropped. What layout says of where a brace is missing, or one too many, decides which place is blamed.

#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "compiler/syntax/mistakes.h"
#include "compiler/syntax/open_block.h"
#include "compiler/syntax/parse.h"
#include "compiler/syntax/prelude.h"
#include "compiler/syntax/statement_reader.h"

namespace cairn {

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

  void run();

 private:
  [[nodiscard]] const Token& current() const { return reader_.current(); }
  // Where to report: nowhere, inside a block that nobody knows.
  Diagnostics& sink() { return !frames_.empty() && frames_.back().silent ? unheard_ : diagnostics_; }
  [[nodiscard]] MistakePlace place(std::uint32_t begin) const {
    return {text_, tree_.file, begin, current()};
  }

  // driver.cpp: what is as it should be
  bool item_step();
  void finish_leaf_item(bool good, Item& item, const Token& first);
  void open_item(bool good, Item& item, const Token& first);
  bool statement_step();
  // A rule holds one sentence.
  void rule_line(const Token& first);
  void leaf(const Token& first);
  void head(const Token& first);
  // The `if` itself stays open until its `else` is there or not; its blocks are statements inside it.
  void open_if(OpenBlock frame, Statement statement);
  void push_inside(Statement block);
  // `after_report`: a mistake beside it has been told.
  void open_else(bool after_report);
  void span_line(const Token& first);
  void frames_span_seen(Span keyword);
  StatementId add(Statement statement);
  // A statement has ended: so have the `after D` before it.
  void end_singles();
  void pop_frame();
  void close_block(const Token& brace);
  [[nodiscard]] std::size_t indentation(std::uint32_t offset) const { return indentation_at(text_, offset); }

  // recovery.cpp: what is not
  // It is not what was meant.
  void drop_rule();
  void report_in_rule(const Token& found);
  // The rest of a statement that a `}` has cut short, which has been reported.
  bool follows_cut();
  // A token that begins no statement.
  void stray(const Token& first, bool same_line);
  // Something stands on the statement's line that neither begins a statement nor ends the block.
  [[nodiscard]] bool is_unfinished() const;
  // Notes the first statement that the layout puts outside the block it is in.
  void watch_layout(const Token& first);
  void report_unclosed(const Token& found);
  // `let s = ...` has been reported; that `s` is no name need not be said again wherever it is used.
  bool is_known_misuse(const Token& first, const Token& failed);
  // Reports a broken statement, head or item that begins at `first`, and finds the place to go on from.
  void fail(const Token& first, bool opens_block);
  // Skips to a keyword that begins a line, to `}` or past `{`, which opens a block whose statements are
  // dropped.
  void resync(Span owner, bool opens_block);
  void push_dropped(Span owner, bool assumed);
  // Past the block that begins here or later.
  void skip_block();
  void skip_to_close();
  void skip_rest_of_line();
  // A statement's keyword with the `{` of the block around it behind it: the two have changed places.
  [[nodiscard]] bool stands_before_its_brace(const Token& keyword) const;
  void report_outside(const Token& first);
  [[nodiscard]] bool in_then() const;
  // An `else` that follows no `}` of an `if`.
  void lone_else(const Token& first);
  void stray_else(const Token& first);
  void report_escapes();
  void check_error_limit();

  std::string_view text_;
  ParseLimits limits_;
  Tree& tree_;
  Diagnostics& diagnostics_;
  StatementReader reader_;
  std::size_t errors_before_;
  std::vector<OpenBlock> frames_;
  Crowded suspect_;       // a `}` further left than the block it closes: one is missing before it
  Span misplaced_close_;  // a `}` further right than the block it closes
  std::size_t assumed_ = 0;
  std::size_t cut_blocks_ = 0;
  Crowded crowded_;
  std::vector<std::string_view> misused_;
  bool after_statement_ = false;  // the token before this one ended a statement, which began at:
  std::uint32_t last_statement_ = 0;
  bool stopped_ = false;
  std::uint32_t cut_at_ = 0;  // the end of a `}` that cut a statement short: what follows belonged to it
  std::uint32_t broken_close_ = 0;  // where the last block ended whose head was broken
  Diagnostics unheard_;
};

}  // namespace cairn
