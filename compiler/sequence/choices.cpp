// The statements that compute which statements run: for each, repeat, if.
//
// All of them are settled here, before anything runs; the turns of a repetition follow one another.

#include "compiler/sequence/expand.h"
#include "compiler/text/catalogue.h"

namespace cairn {

bool Expander::find_times(std::uint32_t index, const Statement& what, Scope& scope) {
  const MarkSource& source = tree(index).marks[what.mark];
  bool is_pending = false;
  auto times = marks_.all(index, source, scope, evaluator_, is_pending);
  if (is_pending) note_pending(what.keyword);
  if (!times) return false;
  each_times_[{&what, &scope}] = std::move(*times);
  return true;
}

std::optional<std::int64_t> Expander::turns_of(std::uint32_t index, const Statement& what, Scope& scope) {
  if (what.mark.is_valid()) {
    if (!find_times(index, what, scope)) return std::nullopt;
    return static_cast<std::int64_t>(each_times_[{&what, &scope}].size());
  }
  if (what.kind == StatementKind::Each) return what.argument_count;
  const Value turns =
      evaluator_.evaluate_as(ValueKind::Count, index, what.value, scope, "the number of turns");
  const Span place = tree(index).expressions[what.value].span;
  if (turns.kind == ValueKind::Pending) note_pending(place);
  if (!turns.is_usable()) return std::nullopt;
  if (turns.count < 0) {
    diagnostics_->report(diagnostics::BadTurns, place, turns.count)
        .hint("give how often the block runs, such as `repeat 3 times { ... }`");
    return std::nullopt;
  }
  if (turns.count > static_cast<std::int64_t>(limits_->commands)) {
    diagnostics_->report(diagnostics::TooManyCommands, place, limits_->commands)
        .hint("it would run " + std::to_string(turns.count) +
              " times: give a smaller number, or split the load and plan the next with --after");
    stopped_ = true;
    return std::nullopt;
  }
  return turns.count;
}

Scope& Expander::turn_scope(std::uint32_t index, const Statement& what, std::int64_t turn, Scope& outer) {
  Scope* scope = &outer;
  if (what.kind == StatementKind::Each) {
    scope = &evaluator_.new_scope(&outer);
    Binding element;
    element.name = what.name;
    element.tree = index;
    element.scope = &outer;  // the list does not see the name it is bound to
    if (what.mark.is_valid()) {
      element.value = Value::of(each_times_[{&what, &outer}][static_cast<std::size_t>(turn)]);
      element.stage = BindingStage::Done;
    } else {
      element.expression =
          tree(index).arguments[what.first_argument + static_cast<std::uint32_t>(turn)].value;
    }
    evaluator_.define(*scope, std::move(element));
  }
  scope = &evaluator_.new_scope(scope);
  evaluator_.declare(index, what.first_child, *scope);
  return *scope;
}

void Expander::turns_block(std::size_t cursor, const Statement& what) {
  const Frame frame = cursors_[cursor].frames.back();
  const auto turns = turns_of(frame.tree, what, *frame.scope);
  if (!turns) return;
  Frame loop = frame;
  loop.kind = FrameKind::Turns;
  loop.name.clear();
  loop.setting = inside(frame.setting, frame.tree, what);
  loop.turns = *turns;
  loop.next = 0;
  cursors_[cursor].frames.push_back(std::move(loop));
}

bool Expander::step_turns(std::size_t cursor) {
  Frame& frame = cursors_[cursor].frames.back();
  if (frame.next == static_cast<std::size_t>(frame.turns)) {
    end_frame(cursor, frame.now);
    return true;
  }
  const Statement& what = tree(frame.tree).statements[frame.statement];
  if (!count_step(what.keyword)) return false;
  Frame body;
  body.tree = frame.tree;
  body.statement = what.first_child;
  body.scope = &turn_scope(frame.tree, what, static_cast<std::int64_t>(frame.next++), *frame.scope);
  body.setting = frame.setting;
  body.now = frame.now;
  cursors_[cursor].frames.push_back(std::move(body));
  return true;
}

StatementId Expander::chosen(std::uint32_t index, const Statement& what, Scope& scope) {
  const Value condition =
      evaluator_.evaluate_as(ValueKind::Boolean, index, what.value, scope, "what follows `if`");
  if (condition.kind == ValueKind::Pending) note_pending(tree(index).expressions[what.value].span);
  if (!condition.is_usable()) return {};
  const StatementId then = what.first_child;
  return condition.boolean ? then : tree(index).statements[then].next;
}

void Expander::choice(std::size_t cursor, const Statement& what) {
  const Frame frame = cursors_[cursor].frames.back();
  const StatementId block = chosen(frame.tree, what, *frame.scope);
  if (!block.is_valid()) return;
  const Statement& taken = tree(frame.tree).statements[block];
  Frame body;
  body.tree = frame.tree;
  body.statement = taken.first_child;
  body.scope = &evaluator_.new_scope(frame.scope);
  body.setting = inside(frame.setting, frame.tree, taken);
  body.now = frame.now;
  evaluator_.declare(body.tree, taken.first_child, *body.scope);
  cursors_[cursor].frames.push_back(std::move(body));
}

}  // namespace cairn
