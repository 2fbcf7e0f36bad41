// The tree of a Cairn file: compact, flat, and free of the parser that made it.
//
// Nodes live in tables and refer to each other by id; words are string_views into the source text, which
// SourceFiles keeps. What few nodes have stands in a table of its own, so that a hundred thousand `send` lines stay
// small. A broken statement leaves no node (its diagnostic has been reported), so whoever reads the tree never meets
// a half statement.

#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "compiler/text/source.h"
#include "constraints/quantity/ids.h"

namespace cairn {

struct ExpressionTag;
struct StatementTag;
struct ItemTag;
struct PathTag;
struct MarkTag;
using ExpressionId = Id<ExpressionTag>;
using StatementId = Id<StatementTag>;
using PathId = Id<PathTag>;
using MarkId = Id<MarkTag>;

// A word with its place.
struct Word {
  std::string_view text;
  Span span;
  [[nodiscard]] bool is_present() const { return !text.empty(); }
};

// A dotted path of one or two or three words: camera, camera.cover, sun.elevation.
struct PathName {
  Word first;
  Word second;  // absent when one word
  Word third;
  Span span;
};

enum class ExpressionKind : std::uint8_t {
  Number,    // 3, 0.25, 1e3: `text` is the digits; `unit` is empty
  Quantity,  // 90 s: `text` is the digits, `unit` the unit's symbol
  Instant,   // 2031-05-14T06:00:00Z: `text`
  Text,      // "..." : `text` without the quotes, escapes still in place (\" \\ \n)
  Boolean,   // true, false: `text`
  Name,      // a constant, parameter, mark, enumeration word or dotted path: `path`
  Negate,    // -left
  Add, Subtract, Multiply, Divide,  // left, right
  Less, LessOrEqual, Greater, GreaterOrEqual,  // left, right
  Is,        // left is right
  IsNot,     // left is not right
  Among,     // left is in [ ... ]: right is a Listed, or invalid
  NotAmong,  // left is not in [ ... ]
  Listed,    // an element of a list: left, and in `right` the next Listed or nothing
  Not,       // not left
  And, Or,   // left, right
};

struct Expression {
  ExpressionKind kind = ExpressionKind::Number;
  Span span;
  PathId path;
  std::string_view text;
  Word unit;
  ExpressionId left;
  ExpressionId right;
};

struct Argument {
  Word name;
  ExpressionId value;
  Span span;
};

// What a mark is bound to.
enum class MarkKind : std::uint8_t {
  Expression,    // mark a = sunset - 3 h            value
  Crossing,      // mark a = sun.elevation falls below 0.5 deg   quantity, rises, value, occurrence
  Window,        // mark a = window west-dish 2 opens            antenna, occurrence, opens
  Block,         // mark a = start of NAME / end of NAME         block, at_start
};

struct MarkSource {
  MarkKind kind = MarkKind::Expression;
  ExpressionId value;
  PathName quantity;
  bool rises = false;
  Word antenna;
  bool opens = false;
  Word block;
  bool at_start = false;
  ExpressionId occurrence;  // absent: the first in the span
};

enum class StatementKind : std::uint8_t {
  Let,       // let NAME = value                       name, value
  Mark,      // mark NAME = ...                        name, mark
  Note,      // note "..."                             text
  Send,      // send UNIT.COMMAND a=v ...              path, arguments
  Bring,     // bring UNIT[.PART] to STATE             path, name (the state)
  Do,        // do ROUTINE(a=v, ...)                   name, arguments
  At,        // at T [as NAME] { ... }                 value, name (may be absent), body
  After,     // after D { ... }  or  after D STATEMENT value, body
  Every,     // from A to B every D { ... }            value, second, third, body
  Together,  // together { ... }                       body
  Each,      // for each NAME in [a, b] { ... }        name, arguments (without names), body
  Repeat,    // repeat N times { ... }                 value, body
  If,        // if CONDITION { ... } else { ... }      value, body: a Then, and an Else or nothing
  Then,      // { ... }                                body
  Else,      // else { ... }                           body; `else if` is an Else that holds one If
};

struct Statement {
  StatementKind kind = StatementKind::Note;
  bool approximate = false;  // `at about T`
  Span span;     // the whole statement
  Span keyword;  // its first word
  Word name;
  Word text;  // between the quotes, escapes still in place
  PathId path;
  MarkId mark;
  ExpressionId value;
  ExpressionId second;
  ExpressionId third;
  std::uint32_t first_argument = 0;  // into Tree::arguments
  std::uint32_t argument_count = 0;
  StatementId first_child;  // body, linked through `next`
  StatementId next;
};

struct Parameter {
  Word name;
  Word type;
  ExpressionId default_value;  // invalid id: no default
  Span span;
};

enum class ItemKind : std::uint8_t {
  Use,      // use "path"                 text
  Let,      // let NAME = value           name, value
  Routine,  // routine NAME(...) { ... }  name, parameters, body
  Load,     // load "name" for STATION { span A to B ... }  text, station, span_from, span_to, body
};

struct Item {
  ItemKind kind = ItemKind::Use;
  Span span;
  Span keyword;
  Word text;
  Word name;
  Word station;
  ExpressionId value;
  ExpressionId span_from;  // invalid when the load lacks its `span` (already reported by the parser)
  ExpressionId span_to;
  Span span_keyword;
  std::vector<Parameter> parameters;
  StatementId first_child;
};

struct Comment {
  Span span;  // from # to the end of its line
};

struct Tree {
  FileId file;
  std::vector<Item> items;
  Table<StatementId, Statement> statements;
  Table<ExpressionId, Expression> expressions;
  Table<PathId, PathName> paths;
  Table<MarkId, MarkSource> marks;
  std::vector<Argument> arguments;
  std::vector<Comment> comments;
};

}  // namespace cairn
