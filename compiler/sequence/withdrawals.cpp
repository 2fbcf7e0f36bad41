// What a load takes out of the station's table: read off its statements, before anything runs.
//
// A withdrawal is done when it is received, in a window that staging chooses; so it stands beside the blocks
// that set a time, never in one.

#include "compiler/sequence/withdrawals.h"

#include <algorithm>

#include "compiler/meaning/program.h"
#include "compiler/sequence/bring.h"
#include "compiler/sequence/sequence.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

bool has_withdrawal(const Tree& tree) {
  return std::any_of(tree.statements.begin(), tree.statements.end(),
                     [](const Statement& what) { return what.kind == StatementKind::Withdraw; });
}

class Reader {
 public:
  Reader(const Program& program, Diagnostics& diagnostics)
      : program_(program),
        diagnostics_(diagnostics),
        evaluator_(program, diagnostics, [](const Binding&) { return Value::error(); }) {}

  std::vector<Withdrawal> run() {
    for (std::uint32_t index = 0; index < program_.trees->size(); ++index) {
      for (const Item& item : tree(index).items) {
        const bool is_load = &item == program_.load;
        for (StatementId id = item.first_child; id.is_valid(); id = tree(index).statements[id].next) {
          const Statement& what = tree(index).statements[id];
          if (is_load && what.kind == StatementKind::Withdraw) {
            read(what);
          } else {
            inside(index, what);
          }
        }
      }
    }
    return std::move(found_);
  }

 private:
  [[nodiscard]] const Tree& tree(std::uint32_t index) const { return (*program_.trees)[index]; }

  void inside(std::uint32_t index, const Statement& what) {
    if (what.kind == StatementKind::Withdraw) {
      diagnostics_.report(diagnostics::WithdrawInBlock, what.keyword, "")
          .hint(
              "write it in the body of the load, beside its blocks: it is done when it is received, in the "
              "first "
              "window that can carry it");
    }
    for (StatementId id = what.first_child; id.is_valid(); id = tree(index).statements[id].next)
      inside(index, tree(index).statements[id]);
  }

  void read(const Statement& what) {
    const CommandId command = named_command(program_, tree(0).paths[what.path], diagnostics_);
    const Value time = evaluator_.evaluate_as(ValueKind::Instant, 0, what.value, evaluator_.globals(),
                                              "the time at which the entry runs");
    if (!command.is_valid()) return;
    const Station& station = program_.station->station;
    const CommandDefinition& definition = station.commands[command];
    Withdrawal withdrawal;
    withdrawal.command = command;
    withdrawal.arguments.resize(definition.arguments.size());
    withdrawal.source = what.span;
    withdrawal.time_place = tree(0).expressions[what.value].span;
    bool good = time.is_usable();
    for (std::uint32_t i = 0; i < what.argument_count; ++i) {
      const Argument& argument = tree(0).arguments[what.first_argument + i];
      const auto value = argument_value(evaluator_, 0, definition, full_name(station, command), argument,
                                        evaluator_.globals());
      good = good && value.has_value();
      if (!value) continue;
      if (withdrawal.arguments[value->first]) {
        diagnostics_
            .report(diagnostics::RepeatedArgument, argument.name.span, std::string(argument.name.text))
            .hint("keep one of the two");
        good = false;
      }
      withdrawal.arguments[value->first] = value->second;
    }
    if (!good) return;
    withdrawal.time = round_to_tick(time.instant, station.clock.tick);
    found_.push_back(std::move(withdrawal));
  }

  const Program& program_;
  Diagnostics& diagnostics_;
  Evaluator evaluator_;
  std::vector<Withdrawal> found_;
};

}  // namespace

std::vector<Withdrawal> read_withdrawals(const Program& program, Diagnostics& diagnostics) {
  const auto& trees = *program.trees;
  if (std::none_of(trees.begin(), trees.end(), has_withdrawal)) return {};
  return Reader(program, diagnostics).run();
}

std::vector<Withdrawal> find_withdrawals(const std::vector<Tree>& trees, const SourceFiles& files,
                                         const LoadedStation& station, const LeapSecondTable& leap_seconds,
                                         Diagnostics& diagnostics) {
  if (std::none_of(trees.begin(), trees.end(), has_withdrawal)) return {};
  const auto program = check_program(trees, files, station, leap_seconds, diagnostics);
  if (!program) return {};
  return read_withdrawals(*program, diagnostics);
}

}  // namespace cairn
