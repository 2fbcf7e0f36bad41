// The tree of a Cairn file: compact, flat, and free of the parser that made it.
//
// Nodes live in tables and refer to each other by id; words are string_views into the source text, which
// SourceFiles keeps. What few nodes have stands in a table of its own, so that a hundred thousand `send`
// lines stay small. A broken statement leaves no node (its diagnostic has been reported), so whoever reads
// the tree never meets a half statement.

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
struct SentenceTag;
struct WaiverTag;
using ExpressionId = Id<ExpressionTag>;
using StatementId = Id<StatementTag>;
using PathId = Id<PathTag>;
using MarkId = Id<MarkTag>;
using SentenceId = Id<SentenceTag>;
using WaiverId = Id<WaiverTag>;

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
  Add,
  Subtract,
  Multiply,
  Divide,  // left, right
  Less,
  LessOrEqual,
  Greater,
  GreaterOrEqual,  // left, right
  Is,              // left is right
  IsNot,           // left is not right
  Among,           // left is in [ ... ]: right is a Listed, or invalid
  NotAmong,        // left is not in [ ... ]
  Listed,          // an element of a list: left, and in `right` the next Listed or nothing
  Not,             // not left
  And,
  Or,  // left, right
  // Only in rules, and where a load requires or expects something:
  Command,      // command UNIT.COMMAND(a=v, ...): path, and in `right` a Given or nothing
  Given,        // an argument of a Command: path (its name), left, and in `right` the next Given or nothing
  Window,       // window ANTENNA 2: path (the antenna), and in `left` a Number or nothing
  WindowOpens,  // window ANTENNA 2 opens
  WindowCloses,
  StartOf,
  EndOf,  // left
  TimeSince,
  TimeUntil,  // left
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
  Expression,  // mark a = sunset - 3 h            value
  Crossing,    // mark a = sun.elevation falls below 0.5 deg   quantity, rises, value, occurrence
  Window,      // mark a = window west-dish 2 opens            antenna, occurrence, opens
  Block,       // mark a = start of NAME / end of NAME         block, at_start
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
  ExpressionId beyond;      // the first after, or the last before this instant
  bool last = false;
  ExpressionId from;  // of a `for each`: only from one instant to another
  ExpressionId to;
};

// What must hold over the whole load: `[never] condition [while ...] [between ... and ...]`, or one of the
// forms.
enum class SentenceForm : std::uint8_t {
  Plain,         // condition; `never`, `whilst`, `from` and `to` may be there
  AtMost,        // condition no more than amount [times | once] [in any within]
  LastsAtMost,   // condition lasts no more than amount
  LastsAtLeast,  // condition lasts no less than amount
  Apart,         // condition apart by amount
  OnlyInside,    // condition only inside other
  OnlyOutside,
  OnlyWhile,
  OnlyBefore,
  OnlyAfter,    // condition only after [amount of] other
  OnlyBetween,  // condition only between from and to
  Followed,     // condition followed by other within amount
};

struct Sentence {
  SentenceForm form = SentenceForm::Plain;
  bool never = false;
  bool once = false;   // AtMost: `once` instead of an amount
  bool times = false;  // AtMost: `times` was written
  Span span;
  ExpressionId condition;
  ExpressionId other;
  ExpressionId amount;
  ExpressionId within;
  ExpressionId whilst;
  ExpressionId from;
  ExpressionId to;
};

// waive AREA/WORD of "SUBJECT" to MARGIN from A to B because "..." reference "..." until DATE
struct Waiver {
  Word area;
  Word word;     // absent: `area` is the name of a rule
  Word subject;  // absent: any
  ExpressionId margin;
  ExpressionId from;
  ExpressionId to;
  Word because;
  Word reference;
  ExpressionId until;
};

enum class StatementKind : std::uint8_t {
  Let,       // let NAME = value                       name, value
  Mark,      // mark NAME = ...                        name, mark
  Note,      // note "..."                             text
  Send,      // send [now] UNIT.COMMAND a=v ...        path, arguments, immediate
  Bring,     // bring UNIT[.PART] to STATE             path, name (the state)
  Withdraw,  // withdraw UNIT.COMMAND a=v ... at T     path, arguments, value
  Do,        // do ROUTINE(a=v, ...)                   name, arguments
  At,        // at T [as NAME] { ... }                 value, name (may be absent), body
  After,     // after D { ... }  or  after D STATEMENT value, body
  Every,     // from A to B every D { ... }            value, second, third, body
  Together,  // together { ... }                       body
  Each,      // for each NAME in [a, b] { ... }        name, arguments (without names) or mark, body
  Repeat,    // repeat N times { ... }                 value, body
  If,        // if CONDITION { ... } else { ... }      value, body: a Then, and an Else or nothing
  Then,      // { ... }                                body
  Holds,     // in a rule: one sentence                sentence
  Require,   // require SENTENCE                       sentence
  Expect,    // expect CONDITION within D              value, second
  Waive,     // waive ...                              waiver
  Else,      // else { ... }                           body; `else if` is an Else that holds one If
};

struct Statement {
  StatementKind kind = StatementKind::Note;
  bool approximate = false;  // `at about T`
  bool immediate = false;    // `send now`
  Span span;                 // the whole statement
  Span keyword;              // its first word
  Word name;
  Word text;  // between the quotes, escapes still in place
  PathId path;
  MarkId mark;
  SentenceId sentence;
  WaiverId waiver;
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
  Rule,     // rule NAME "why" { ... }     name, text, body
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
  Table<SentenceId, Sentence> sentences;
  Table<WaiverId, Waiver> waivers;
  std::vector<Argument> arguments;
  std::vector<Comment> comments;
};

}  // namespace cairn
