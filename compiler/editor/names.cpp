// Walks over the trees with the same scopes as meaning/: files, then the routine or load, then blocks.

#include "compiler/editor/names.h"

#include <algorithm>
#include <initializer_list>
#include <map>
#include <tuple>

namespace cairn {

namespace {

struct Known {
  NameKind kind = NameKind::Constant;
  Span place;
};
using Names = std::map<std::string_view, Known>;

class Finder {
 public:
  explicit Finder(const Analysis& analysis)
      : analysis_(analysis), station_(analysis.station ? &analysis.station->station : nullptr) {}

  std::vector<NameUse> run() {
    for (const Tree& tree : analysis_.gathered.trees) {
      for (const Item& item : tree.items) {
        if (item.kind == ItemKind::Let)
          globals_.emplace(item.name.text, Known{NameKind::Constant, item.name.span});
        if (item.kind == ItemKind::Routine) routines_.emplace(item.name.text, &item);
        if (item.kind == ItemKind::Rule) rules_.emplace(item.name.text, item.name.span);
        if (item.kind == ItemKind::Load) blocks_of(tree, item.first_child);
      }
    }
    for (const Tree& tree : analysis_.gathered.trees) {
      tree_ = &tree;
      for (const Item& item : tree.items) this->item(item);
    }
    std::sort(uses_.begin(), uses_.end(), [](const NameUse& a, const NameUse& b) {
      return std::tie(a.span.file, a.span.begin, a.span.end) <
             std::tie(b.span.file, b.span.begin, b.span.end);
    });
    return std::move(uses_);
  }

 private:
  void blocks_of(const Tree& tree, StatementId first) {
    for (StatementId id = first; id.is_valid(); id = tree.statements[id].next) {
      const Statement& what = tree.statements[id];
      if (what.kind == StatementKind::At && what.name.is_present())
        blocks_.emplace(what.name.text, what.name.span);
      blocks_of(tree, what.first_child);
    }
  }

  void add(const Word& word, NameKind kind, Span target, bool defines = false) {
    NameUse use;
    use.span = word.span;
    use.kind = kind;
    use.target = target;
    use.defines = defines;
    uses_.push_back(use);
  }

  [[nodiscard]] Span place(Origin origin) const { return analysis_.station->place(origin); }

  void item(const Item& item) {
    scopes_.assign(1, Names{});
    switch (item.kind) {
      case ItemKind::Use:
        file(item.text);
        break;
      case ItemKind::Let:
        add(item.name, NameKind::Constant, item.name.span, true);
        expression(item.value);
        break;
      case ItemKind::Routine:
        add(item.name, NameKind::Routine, item.name.span, true);
        for (const Parameter& parameter : item.parameters) {
          if (parameter.default_value.is_valid()) expression(parameter.default_value);
        }
        for (const Parameter& parameter : item.parameters) {
          add(parameter.name, NameKind::Parameter, parameter.name.span, true);
          scopes_.back().emplace(parameter.name.text, Known{NameKind::Parameter, parameter.name.span});
        }
        body(item.first_child);
        break;
      case ItemKind::Load:
        if (analysis_.station && !analysis_.station->files.empty()) {
          add(item.station, NameKind::Station, Span{analysis_.station->files.front(), 0, 0});
        }
        if (item.span_from.is_valid()) expression(item.span_from);
        if (item.span_to.is_valid()) expression(item.span_to);
        body(item.first_child);
        break;
      case ItemKind::Rule:
        add(item.name, NameKind::Rule, item.name.span, true);
        body(item.first_child);
        break;
    }
  }

  void file(const Word& word) {
    // The quotes are part of the word's place.
    for (std::size_t i = 0; i < analysis_.gathered.files.size(); ++i) {
      const FileId id = analysis_.gathered.files[i];
      const std::string& name = analysis_.files.name(id);
      const std::size_t slash = word.text.find_last_of('/');
      const std::string_view last = slash == std::string_view::npos ? word.text : word.text.substr(slash + 1);
      const bool fits = name == last || name.ends_with("/" + std::string(last));
      if (i > 0 && fits) return add(word, NameKind::File, Span{id, 0, 0});
    }
  }

  void body(StatementId first) {
    scopes_.emplace_back();
    for (StatementId id = first; id.is_valid(); id = tree_->statements[id].next) {
      const Statement& what = tree_->statements[id];
      const bool is_mark = what.kind == StatementKind::Mark;
      if (what.kind != StatementKind::Let && !is_mark) continue;
      scopes_.back().emplace(what.name.text,
                             Known{is_mark ? NameKind::Mark : NameKind::Constant, what.name.span});
    }
    for (StatementId id = first; id.is_valid(); id = tree_->statements[id].next)
      statement(tree_->statements[id]);
    scopes_.pop_back();
  }

  void statement(const Statement& what) {
    switch (what.kind) {
      case StatementKind::Let:
        add(what.name, NameKind::Constant, what.name.span, true);
        break;
      case StatementKind::Mark:
        add(what.name, NameKind::Mark, what.name.span, true);
        if (what.mark.is_valid()) mark(tree_->marks[what.mark]);
        break;
      case StatementKind::Send:
        send(what);
        return;
      case StatementKind::Withdraw:
        send(what);
        expression(what.value);
        return;
      case StatementKind::Bring:
        bring(what);
        return;
      case StatementKind::Do:
        call(what);
        return;
      case StatementKind::At:
        if (what.name.is_present()) add(what.name, NameKind::Block, what.name.span, true);
        break;
      case StatementKind::Each:
        each(what);
        return;
      default:
        break;
    }
    expressions({what.value, what.second, what.third});
    if (what.sentence.is_valid()) {
      const Sentence& said = tree_->sentences[what.sentence];
      expressions({said.condition, said.other, said.amount, said.within, said.whilst, said.from, said.to});
    }
    if (what.waiver.is_valid()) waiver(tree_->waivers[what.waiver]);
    if (what.first_child.is_valid()) body(what.first_child);
  }

  void expressions(std::initializer_list<ExpressionId> list) {
    for (const ExpressionId id : list) {
      if (id.is_valid()) expression(id);
    }
  }

  void waiver(const Waiver& what) {
    const auto rule = rules_.find(what.area.text);
    if (!what.word.is_present() && rule != rules_.end()) add(what.area, NameKind::Rule, rule->second);
    expressions({what.margin, what.from, what.to, what.until});
  }

  void each(const Statement& what) {
    if (what.mark.is_valid()) mark(tree_->marks[what.mark]);
    for (std::uint32_t i = 0; i < what.argument_count; ++i) {
      expression(tree_->arguments[what.first_argument + i].value);
    }
    add(what.name, NameKind::Turn, what.name.span, true);
    scopes_.emplace_back();
    scopes_.back().emplace(what.name.text, Known{NameKind::Turn, what.name.span});
    body(what.first_child);
    scopes_.pop_back();
  }

  void mark(const MarkSource& source) {
    if (source.kind == MarkKind::Window) antenna(source.antenna);
    if (source.kind == MarkKind::Block) {
      const auto found = blocks_.find(source.block.text);
      add(source.block, NameKind::Block, found == blocks_.end() ? Span{} : found->second);
    }
    if (source.kind == MarkKind::Crossing) quantity(source.quantity);
    if (source.value.is_valid()) expression(source.value);
    expressions({source.occurrence, source.beyond, source.from, source.to});
  }

  void antenna(const Word& word) {
    if (station_ == nullptr) return;
    const AntennaId id = find_antenna(*station_, word.text);
    if (id.is_valid()) add(word, NameKind::Antenna, place(station_->antennas[id].origin));
  }

  UnitId unit(const Word& word) {
    const UnitId id = station_ == nullptr ? UnitId{} : find_unit(*station_, word.text);
    if (!id.is_valid()) return id;
    add(word, NameKind::Unit, place(station_->units[id].origin));
    uses_.back().unit = id;
    return id;
  }

  CommandId command(const PathName& path) {
    const UnitId id = unit(path.first);
    if (!id.is_valid()) return {};
    const CommandId found = find_command(*station_, id, path.second.text);
    if (!found.is_valid()) return found;
    add(path.second, NameKind::Command, place(station_->commands[found].origin));
    uses_.back().unit = id;
    uses_.back().command = found;
    return found;
  }

  void send(const Statement& what) {
    const CommandId id = command(tree_->paths[what.path]);
    for (std::uint32_t i = 0; i < what.argument_count; ++i) {
      const Argument& argument = tree_->arguments[what.first_argument + i];
      const ArgumentDefinition* definition = nullptr;
      if (id.is_valid()) {
        const CommandDefinition& known = station_->commands[id];
        for (std::uint32_t index = 0; index < known.arguments.size(); ++index) {
          if (known.arguments[index].name != argument.name.text) continue;
          definition = &known.arguments[index];
          add(argument.name, NameKind::Argument, place(definition->origin));
          uses_.back().command = id;
          uses_.back().argument = index;
        }
      }
      if (definition != nullptr && choice(argument.value, *definition)) continue;
      expression(argument.value);
    }
  }

  // A word of the argument's own; names of the load go before it.
  bool choice(ExpressionId id, const ArgumentDefinition& definition) {
    const Expression& value = tree_->expressions[id];
    if (definition.type != ArgumentType::Choice || value.kind != ExpressionKind::Name) return false;
    const Word& word = tree_->paths[value.path].first;
    if (find(word.text) != nullptr) return false;
    const bool known = std::any_of(definition.choices.begin(), definition.choices.end(),
                                   [&word](const Choice& one) { return one.name == word.text; });
    if (known) add(word, NameKind::Choice, place(definition.origin));
    return known;
  }

  void bring(const Statement& what) {
    const PathName& path = tree_->paths[what.path];
    const UnitId id = unit(path.first);
    if (!id.is_valid()) return;
    const PartId part = find_part(*station_, id, path.second.text);
    if (!part.is_valid()) return;
    if (path.second.is_present()) {
      add(path.second, NameKind::Part, place(station_->parts[part].origin));
      uses_.back().part = part;
    }
    const StateId state = find_state(*station_, part, what.name.text);
    if (!state.is_valid()) return;
    add(what.name, NameKind::State, place(station_->states[state].origin));
    uses_.back().state = state;
    uses_.back().part = part;
  }

  void call(const Statement& what) {
    const auto found = routines_.find(what.name.text);
    const Item* routine = found == routines_.end() ? nullptr : found->second;
    add(what.name, NameKind::Routine, routine == nullptr ? Span{} : routine->name.span);
    for (std::uint32_t i = 0; i < what.argument_count; ++i) {
      const Argument& argument = tree_->arguments[what.first_argument + i];
      if (routine != nullptr) {
        for (const Parameter& parameter : routine->parameters) {
          if (parameter.name.text == argument.name.text) {
            add(argument.name, NameKind::Parameter, parameter.name.span);
          }
        }
      }
      expression(argument.value);
    }
  }

  const Known* find(std::string_view name) const {
    for (auto scope = scopes_.rbegin(); scope != scopes_.rend(); ++scope) {
      if (const auto known = scope->find(name); known != scope->end()) return &known->second;
    }
    const auto known = globals_.find(name);
    return known == globals_.end() ? nullptr : &known->second;
  }

  void quantity(const PathName& path) {
    NameUse use;
    use.span = path.span;
    use.kind = NameKind::Quantity;
    uses_.push_back(use);
  }

  void path(const PathName& path) {
    if (const Known* known = path.second.is_present() ? nullptr : find(path.first.text)) {
      add(path.first, known->kind, known->place);
      return;
    }
    if (!path.second.is_present()) {
      unit(path.first);
      return;
    }
    const UnitId id = station_ == nullptr ? UnitId{} : find_unit(*station_, path.first.text);
    if (!id.is_valid()) return quantity(path);
    unit(path.first);
    const PartId part = find_part(*station_, id, path.second.text);
    if (!part.is_valid()) return;
    add(path.second, NameKind::Part, place(station_->parts[part].origin));
    uses_.back().part = part;
  }

  // The part that a condition on states begins with: `camera is off`, `relay.transmitter-a is high`.
  PartId part_of(ExpressionId id) const {
    const Expression& what = tree_->expressions[id];
    if (what.kind != ExpressionKind::Name || station_ == nullptr) return {};
    const PathName& name = tree_->paths[what.path];
    if (name.third.is_present() || (!name.second.is_present() && find(name.first.text) != nullptr)) return {};
    const UnitId id_of_unit = find_unit(*station_, name.first.text);
    return id_of_unit.is_valid() ? find_part(*station_, id_of_unit, name.second.text) : PartId{};
  }

  // True when the word is a state of the part.
  bool state_of(PartId part, ExpressionId id) {
    const Expression& what = tree_->expressions[id];
    if (!part.is_valid() || what.kind != ExpressionKind::Name) return false;
    const Word& word = tree_->paths[what.path].first;
    const StateId state = find_state(*station_, part, word.text);
    if (!state.is_valid()) return false;
    add(word, NameKind::State, place(station_->states[state].origin));
    uses_.back().state = state;
    uses_.back().part = part;
    return true;
  }

  // Operands lie as deep as the parser lets them: no more than a few hundred.
  void expression(ExpressionId id) {
    const Expression& what = tree_->expressions[id];
    switch (what.kind) {
      case ExpressionKind::Command:
        happening(what);
        return;
      case ExpressionKind::Window:
      case ExpressionKind::WindowOpens:
      case ExpressionKind::WindowCloses:
        antenna(tree_->paths[what.path].first);
        expressions({what.left});
        return;
      case ExpressionKind::Is:
      case ExpressionKind::IsNot:
      case ExpressionKind::Among:
      case ExpressionKind::NotAmong:
        comparison(what);
        return;
      default:
        break;
    }
    if (what.path.is_valid()) path(tree_->paths[what.path]);
    expressions({what.left, what.right});
  }

  void comparison(const Expression& what) {
    const PartId part = part_of(what.left);
    expression(what.left);
    if (!what.right.is_valid()) return;
    if (tree_->expressions[what.right].kind != ExpressionKind::Listed) {
      if (!state_of(part, what.right)) expression(what.right);
      return;
    }
    for (ExpressionId next = what.right; next.is_valid(); next = tree_->expressions[next].right) {
      const ExpressionId element = tree_->expressions[next].left;
      if (element.is_valid() && !state_of(part, element)) expression(element);
    }
  }

  void happening(const Expression& what) {
    const CommandId id = command(tree_->paths[what.path]);
    for (ExpressionId next = what.right; next.is_valid(); next = tree_->expressions[next].right) {
      const Expression& given = tree_->expressions[next];
      if (!id.is_valid() || !given.path.is_valid()) continue;
      const Word& word = tree_->paths[given.path].first;
      const CommandDefinition& known = station_->commands[id];
      for (std::uint32_t index = 0; index < known.arguments.size(); ++index) {
        if (known.arguments[index].name != word.text) continue;
        add(word, NameKind::Argument, place(known.arguments[index].origin));
        uses_.back().command = id;
        uses_.back().argument = index;
        if (given.left.is_valid() && !choice(given.left, known.arguments[index])) expression(given.left);
      }
    }
  }

  const Analysis& analysis_;
  const Station* station_;
  const Tree* tree_ = nullptr;
  Names globals_;
  std::map<std::string_view, Span> blocks_;
  std::map<std::string_view, Span> rules_;
  std::map<std::string_view, const Item*> routines_;
  std::vector<Names> scopes_;
  std::vector<NameUse> uses_;
};

}  // namespace

std::string_view to_word(NameKind kind) {
  switch (kind) {
    case NameKind::Constant:
      return "constant";
    case NameKind::Mark:
      return "mark";
    case NameKind::Parameter:
      return "parameter";
    case NameKind::Turn:
      return "value of each turn";
    case NameKind::Block:
      return "block";
    case NameKind::Routine:
      return "routine";
    case NameKind::Rule:
      return "rule";
    case NameKind::Station:
      return "station";
    case NameKind::Unit:
      return "unit";
    case NameKind::Part:
      return "part";
    case NameKind::State:
      return "state";
    case NameKind::Command:
      return "command";
    case NameKind::Argument:
      return "argument";
    case NameKind::Choice:
      return "choice";
    case NameKind::Antenna:
      return "antenna";
    case NameKind::File:
      return "file";
    case NameKind::Quantity:
      return "quantity";
  }
  return "name";
}

std::vector<NameUse> names_of(const Analysis& analysis) { return Finder(analysis).run(); }

const NameUse* name_at(const std::vector<NameUse>& names, FileId file, std::uint32_t offset) {
  const NameUse* best = nullptr;
  for (const NameUse& use : names) {
    if (use.span.file != file || offset < use.span.begin || offset > use.span.end) continue;
    // At the dot between two names: the later one.
    if (best == nullptr || use.span.begin >= best->span.begin) best = &use;
  }
  return best;
}

std::vector<NameUse> uses_of(const std::vector<NameUse>& names, const NameUse& name) {
  std::vector<NameUse> uses;
  for (const NameUse& use : names) {
    const bool same_kind = use.kind == name.kind && use.argument == name.argument && use.state == name.state;
    // `join_or` reads the left side of `x is a or b` twice.
    const bool again = !uses.empty() && uses.back().span == use.span;
    if (use.target.is_valid() && use.target == name.target && same_kind && !again) uses.push_back(use);
  }
  return uses;
}

}  // namespace cairn
