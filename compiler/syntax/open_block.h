// What the driver knows of a block that is open.

#pragma once

#include <cstddef>

#include "compiler/syntax/tree.h"

namespace cairn {

struct OpenBlock {
  Span opener;            // keyword of the statement or item that owns the block
  bool dropped = false;   // head was broken: statements are read and forgotten
  bool assumed = false;   // no `{` was written
  bool single = false;    // `after D STATEMENT`: ends with its statement
  bool may_else = false;  // of `if`: the block has ended, `else` may follow
  bool is_load = false;
  bool is_rule = false;
  bool silent = false;  // nobody knows what block this is: mistakes in it are not told
  bool has_sentence = false;
  StatementId statement;  // the owner, when a statement
  std::size_t item = 0;   // the owner, when `statement` is invalid and not dropped
  StatementId last_child;
};

// A statement that stands no further right than the block it is in: that block's `}` is probably missing
// before it.
struct Crowded {
  Span block;
  Span statement;
};

}  // namespace cairn
