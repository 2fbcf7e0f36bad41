// What can be said of a program before anything runs: routines, blocks, names that no load reaches.
//
// Routines that nobody calls are held against the station too, so that a shared file is not broken in
// silence.

#include <algorithm>

#include "compiler/meaning/argument_words.h"
#include "compiler/meaning/program.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

template <class Visit>
void walk(const Tree& tree, StatementId first, const Visit& visit) {
  for (StatementId id = first; id.is_valid(); id = tree.statements[id].next) {
    visit(id, tree.statements[id]);
    walk(tree, tree.statements[id].first_child, visit);
  }
}

class Checker {
 public:
  Checker(Program& program, Diagnostics& diagnostics) : program_(&program), diagnostics_(&diagnostics) {}

  bool run() {
    collect();
    for (std::uint32_t tree = 0; tree < program_->trees->size(); ++tree) {
      for (const Item& item : (*program_->trees)[tree].items) {
        if (item.kind == ItemKind::Routine || &item == program_->load) body(tree, item);
      }
    }
    for (const auto& entry : program_->routines) {
      if (stage_[entry.first] == 0) recursion(entry.first);
    }
    return !recursive_ && program_->load != nullptr;
  }

 private:
  void collect() {
    for (std::uint32_t tree = 0; tree < program_->trees->size(); ++tree) {
      const Tree& source = (*program_->trees)[tree];
      for (std::uint32_t index = 0; index < source.items.size(); ++index) {
        const Item& item = source.items[index];
        if (item.kind == ItemKind::Routine) routine(tree, index, item);
        if (item.kind == ItemKind::Load) load(tree, item);
        if (item.kind == ItemKind::Rule) rule(item);
      }
    }
    if (program_->load == nullptr) {
      diagnostics_->report(diagnostics::NoLoad, Span{program_->trees->front().file, 0, 0}, "")
          .hint("a load begins with `load \"name\" for station { span BEGIN to END ... }`");
    }
  }

  void load(std::uint32_t tree, const Item& item) {
    if (program_->load != nullptr || tree != 0) {
      auto builder = diagnostics_->report(diagnostics::ExtraLoad, item.keyword, unescape(item.text.text));
      if (program_->load != nullptr) builder.context(program_->load->keyword, "the load being compiled");
      builder.hint(tree == 0
                       ? "move it to a file of its own and compile that"
                       : "a file that others use holds routines and constants; move the load out of it");
      return;
    }
    program_->load = &item;
    walk((*program_->trees)[0], item.first_child, [this](StatementId id, const Statement& statement) {
      if (statement.kind != StatementKind::At || !statement.name.is_present()) return;
      const auto [slot, fresh] = program_->blocks.emplace(std::string(statement.name.text), BlockRef{0, id});
      if (fresh) return;
      diagnostics_->report(diagnostics::DuplicateName, statement.name.span, std::string(statement.name.text))
          .context((*program_->trees)[0].statements[slot->second.statement].name.span, "first defined here")
          .hint("choose another name for one of the two blocks");
    });
  }

  void rule(const Item& item) {
    const auto [slot, fresh] = rules_.emplace(item.name.text, item.name.span);
    if (fresh) return;
    diagnostics_->report(diagnostics::DuplicateName, item.name.span, std::string(item.name.text))
        .context(slot->second, "first defined here")
        .hint("choose another name for one of the two rules");
  }

  void routine(std::uint32_t tree, std::uint32_t index, const Item& item) {
    const auto [slot, fresh] =
        program_->routines.emplace(std::string(item.name.text), RoutineRef{tree, index});
    if (!fresh) {
      diagnostics_->report(diagnostics::DuplicateName, item.name.span, std::string(item.name.text))
          .context(program_->item(slot->second).name.span, "first defined here")
          .hint("choose another name for one of the two routines");
    }
    for (const Parameter& parameter : item.parameters) {
      if (is_type(parameter.type.text)) continue;
      auto builder = diagnostics_->report(diagnostics::UnknownType, parameter.type.span,
                                          std::string(parameter.type.text));
      suggest_word(builder, parameter.type, type_names(), {});
    }
  }

  void body(std::uint32_t tree, const Item& item) {
    const std::string name(item.name.text);
    const Tree& source = (*program_->trees)[tree];
    walk(source, item.first_child, [&](StatementId, const Statement& statement) {
      if (statement.kind == StatementKind::Send ||
          (statement.kind == StatementKind::Withdraw && &item != program_->load))
        named_command(*program_, source.paths[statement.path], *diagnostics_);
      if (statement.kind != StatementKind::Do) return;
      const std::string called(statement.name.text);
      if (!program_->routines.contains(called)) {
        std::vector<std::string> known;
        for (const auto& entry : program_->routines) known.push_back(entry.first);
        suggest_word(diagnostics_->report(diagnostics::UnknownRoutine, statement.name.span, called),
                     statement.name, known,
                     "no routine is known: bring in the file that has it, with `use \"PATH\"` at the top");
      } else if (item.kind == ItemKind::Routine) {
        calls_[name].push_back(&statement);
      }
    });
  }

  // Depth-first without recursion of our own: the chain may be as long as there are routines.
  void recursion(const std::string& start) {
    struct Step {
      std::string name;
      std::size_t next = 0;
    };
    std::vector<Step> chain{{start, 0}};
    stage_[start] = 1;
    while (!chain.empty()) {
      Step& top = chain.back();
      const auto& called = calls_[top.name];
      if (top.next == called.size()) {
        stage_[top.name] = 2;
        chain.pop_back();
        continue;
      }
      const Statement* call = called[top.next++];
      const std::string name(call->name.text);
      if (stage_[name] == 0) {
        stage_[name] = 1;
        chain.push_back({name, 0});
      } else if (stage_[name] == 1) {
        std::string circle;
        auto at =
            std::find_if(chain.begin(), chain.end(), [&name](const Step& step) { return step.name == name; });
        for (; at != chain.end(); ++at) circle += at->name + " -> ";
        diagnostics_->report(diagnostics::RoutineRecursion, call->name.span, name, circle + name)
            .hint("a routine cannot call itself; repeat with `from A to B every D { ... }`");
        recursive_ = true;
      }
    }
  }

  Program* program_;
  Diagnostics* diagnostics_;
  std::map<std::string, std::vector<const Statement*>> calls_;
  std::map<std::string_view, Span> rules_;
  std::map<std::string, int> stage_;  // 0 not seen, 1 in the chain, 2 done
  bool recursive_ = false;
};

}  // namespace

std::optional<Program> check_program(const std::vector<Tree>& trees, const SourceFiles& files,
                                     const LoadedStation& station, const LeapSecondTable& leap_seconds,
                                     Diagnostics& diagnostics) {
  if (trees.empty()) return std::nullopt;
  Program program;
  program.trees = &trees;
  program.files = &files;
  program.station = &station;
  program.leap_seconds = &leap_seconds;
  if (!Checker(program, diagnostics).run()) return std::nullopt;
  return program;
}

}  // namespace cairn
