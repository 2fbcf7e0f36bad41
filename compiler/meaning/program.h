// The checked form of a load: values, scopes, routines.
//
// Definitions are evaluated when first needed, so that order in the file does not matter; each is in one of
// three stages, which finds circles. Times that depend on the sky or on other blocks are asked of a
// MarkSolver, because this room knows neither.

#pragma once

#include <deque>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "compiler/meaning/meaning.h"
#include "constraints/quantity/leap_seconds.h"
#include "constraints/timeline/timeline.h"

namespace cairn {

enum class ValueKind : std::uint8_t {
  Error,    // reported already; whatever is built on it is an error too and says nothing
  Pending,  // hangs on the end of a block that has not run yet
  Duration,
  Instant,
  Quantity,
  Count,
  Boolean,
  Text,
};

struct Value {
  ValueKind kind = ValueKind::Error;
  Duration duration;
  Instant instant;
  double number = 0;    // Quantity: SI
  Dimension dimension;  // Quantity
  std::int64_t count = 0;
  bool boolean = false;
  std::string text;

  [[nodiscard]] bool is_usable() const { return kind != ValueKind::Error && kind != ValueKind::Pending; }
  static Value error() { return {}; }
  static Value of(Duration value);
  static Value of(Instant value);
  static Value of_count(std::int64_t value);
  static Value of_text(std::string value);
  static Value of(bool value) = delete;
  static Value of_boolean(bool value);
  static Value of_quantity(double si, Dimension dimension);  // a duration becomes a Duration
};

// "Power", "Instant", "Text": the word for a value's type.
std::string type_name(const Value& value);
// "4.5 W", "90 s", "3".
std::string show_value(const Value& value, const LeapSecondTable& leap_seconds);
// Resolves \" \\ \n.
std::string unescape(std::string_view text);

Value negate(const Value& a, Span place, Diagnostics& diagnostics);
Value arithmetic(ExpressionKind operation, const Value& a, const Value& b, const Expression& place, Span left,
                 Span right, Diagnostics& diagnostics);

struct Scope;

enum class BindingStage : std::uint8_t { Waiting, Running, Done };

// A name with what it stands for.
struct Binding {
  Word name;
  std::uint32_t tree = 0;
  Scope* scope = nullptr;   // where its expression is read
  ExpressionId expression;  // a constant
  const MarkSource* mark = nullptr;
  BindingStage stage = BindingStage::Waiting;
  Value value;
};

struct Scope {
  Scope* parent = nullptr;
  std::map<std::string, Binding, std::less<>> names;
};

struct RoutineRef {
  std::uint32_t tree = 0;
  std::uint32_t item = 0;
};

// A named `at` block, for `start of` and `end of`.
struct BlockRef {
  std::uint32_t tree = 0;
  StatementId statement;
};

struct Program {
  const std::vector<Tree>* trees = nullptr;
  const SourceFiles* files = nullptr;
  const LoadedStation* station = nullptr;
  const LeapSecondTable* leap_seconds = nullptr;
  const Item* load = nullptr;  // in the first tree
  std::map<std::string, RoutineRef, std::less<>> routines;
  std::map<std::string, BlockRef, std::less<>> blocks;

  [[nodiscard]] const Item& item(RoutineRef ref) const { return (*trees)[ref.tree].items[ref.item]; }
};

// Names, routines, blocks; what can be said without running anything (unknown commands in routines that no
// load calls, recursion). nullopt when there is nothing to run.
std::optional<Program> check_program(const std::vector<Tree>& trees, const SourceFiles& files,
                                     const LoadedStation& station, const LeapSecondTable& leap_seconds,
                                     Diagnostics& diagnostics);

// Solves a mark that is no plain expression.
using MarkSolver = std::function<Value(const Binding& mark)>;

class Evaluator {
 public:
  Evaluator(const Program& program, Diagnostics& diagnostics, MarkSolver solver);

  Value evaluate(std::uint32_t tree, ExpressionId expression, Scope& scope);
  Value resolve(Binding& binding);
  // Enters the constants and marks of a block, so that they can be used before they are written.
  void declare(std::uint32_t tree, StatementId first, Scope& scope);
  void define(Scope& scope, Binding binding);
  Scope& new_scope(Scope* parent);
  Binding* find(std::string_view name, Scope& scope);
  // As `evaluate`, and the value must be of this type; `what` names it in the message.
  Value evaluate_as(ValueKind kind, std::uint32_t tree, ExpressionId expression, Scope& scope,
                    const std::string& what);

  Scope& globals() { return *globals_; }
  [[nodiscard]] const Program& program() const { return *program_; }
  Diagnostics& diagnostics() { return *diagnostics_; }
  std::size_t reported_after_error = 0;

 private:
  Value name_value(std::uint32_t tree, const Expression& expression, Scope& scope);
  // conditions.cpp
  Value fact(const PathName& path);
  bool is_predicted(std::uint32_t tree, ExpressionId id, Scope& scope);
  Value compared_value(std::uint32_t tree, ExpressionId id, const Value& left, Scope& scope);
  Value compare(std::uint32_t tree, ExpressionKind kind, Span place, const Value& left, ExpressionId left_id,
                ExpressionId right_id, Scope& scope);
  Value among(std::uint32_t tree, const Expression& expression, Scope& scope);
  Value condition(std::uint32_t tree, const Expression& expression, Scope& scope);
  Value literal(const Expression& expression, bool negative);
  Value instant(const Expression& expression);
  void report_cycle(const Binding& binding);
  // A constant that does not fit where it is used is told of once.
  void blame(std::uint32_t tree, ExpressionId expression, Scope& scope);

  const Program* program_;
  Diagnostics* diagnostics_;
  MarkSolver solver_;
  std::deque<Scope> scopes_;
  Scope* globals_;
  std::vector<const Binding*> running_;               // each hangs on the next
  std::map<std::string, Span, std::less<>> unknown_;  // names that were reported, and where first
  int depth_ = 0;
};

// The values of a command's arguments; nullopt when something was reported.
std::optional<TimedCommand> command_of(Evaluator& evaluator, std::uint32_t tree, const Statement& statement,
                                       Scope& scope);
// The command a `send` names; invalid id (reported) when there is none.
CommandId named_command(const Program& program, const PathName& path, Diagnostics& diagnostics);
// The unit a path names; invalid id (reported) when there is none.
UnitId named_unit(const Program& program, const Word& word, Diagnostics& diagnostics);

// One argument of a command by itself: which it is, and its value; nullopt when something was reported.
std::optional<std::pair<std::uint32_t, ArgumentValue>> argument_value(Evaluator& evaluator,
                                                                      std::uint32_t tree,
                                                                      const CommandDefinition& definition,
                                                                      const std::string& command,
                                                                      const Argument& argument, Scope& scope);

// Binds a routine's parameters in `inner`; false when something was reported.
bool bind_parameters(Evaluator& evaluator, std::uint32_t caller_tree, const Statement& call, Scope& outer,
                     RoutineRef routine, Scope& inner);

// nullopt when the name is no type of the language.
bool is_type(std::string_view name);
bool has_type(std::string_view type, const Value& value);
std::vector<std::string> type_names();

}  // namespace cairn
