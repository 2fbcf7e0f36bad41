// The statements that move or split the current time: at, after, from ... every, together, do.

#include <algorithm>

#include "compiler/sequence/bring.h"
#include "compiler/sequence/expand.h"
#include "compiler/text/catalogue.h"

namespace cairn {

void Expander::call(std::size_t cursor, const Statement& what) {
  const Frame frame = cursors_[cursor].frames.back();
  const auto found = program_->routines.find(what.name.text);
  if (found == program_->routines.end() || !count_step(what.span)) return;  // unknown: said by check_program
  if (frame.setting->calls.size() >= static_cast<std::size_t>(limits_->routine_depth)) {
    diagnostics_->report(diagnostics::RoutineDepth, what.span, limits_->routine_depth)
        .hint("call the inner routines from the load itself, or write some of them out");
    return;
  }
  Scope& parameters = evaluator_.new_scope(&evaluator_.globals());
  if (!bind_parameters(evaluator_, frame.tree, what, *frame.scope, found->second, parameters)) return;
  const StatementId first = program_->item(found->second).first_child;
  auto setting = std::make_shared<Setting>(*frame.setting);
  setting->calls.push_back(what.span);
  add_notes(*setting, found->second.tree, first);
  Frame body;
  body.tree = found->second.tree;
  body.statement = first;
  body.scope = &evaluator_.new_scope(&parameters);
  body.setting = std::move(setting);
  body.now = frame.now;
  evaluator_.declare(body.tree, first, *body.scope);
  cursors_[cursor].frames.push_back(std::move(body));
}

void Expander::at_block(std::size_t cursor, const Statement& what) {
  const Frame frame = cursors_[cursor].frames.back();
  const Value time =
      evaluator_.evaluate_as(ValueKind::Instant, frame.tree, what.value, *frame.scope, "the time of a block");
  const Span place = tree(frame.tree).expressions[what.value].span;
  if (time.kind == ValueKind::Pending) note_pending(place);
  if (!time.is_usable()) return;
  if (time.instant < frame.now) {
    diagnostics_->report(diagnostics::Backwards, place, utc(time.instant), utc(frame.now))
        .hint(
            "statements in a block follow one another; give this its own block in the load to run it "
            "earlier");
    return;
  }
  Frame body;
  body.tree = frame.tree;
  body.statement = what.first_child;
  body.scope = &evaluator_.new_scope(frame.scope);
  body.setting = inside(frame.setting, frame.tree, what);
  body.now = round_to_tick(time.instant, station().clock.tick);
  if (what.name.is_present()) {
    body.name = std::string(what.name.text);
    found_[body.name] = {body.now, body.now};
  }
  evaluator_.declare(body.tree, what.first_child, *body.scope);
  cursors_[cursor].frames.push_back(std::move(body));
}

void Expander::after_block(std::size_t cursor, const Statement& what) {
  const Frame frame = cursors_[cursor].frames.back();
  const Value wait = evaluator_.evaluate_as(ValueKind::Duration, frame.tree, what.value, *frame.scope,
                                            "what follows `after`");
  const Span place = tree(frame.tree).expressions[what.value].span;
  if (wait.kind == ValueKind::Pending) note_pending(place);
  if (!wait.is_usable()) return;
  const auto time = checked_add(frame.now, wait.duration);
  if (!time) {
    diagnostics_->report(diagnostics::ValueOverflow, place, "addition")
        .hint("a wait ends inside the load's span: give a shorter one");
    return;
  }
  if (*time < frame.now) {
    diagnostics_->report(diagnostics::Backwards, place, utc(*time), utc(frame.now))
        .hint("`after` waits for a time of zero or more; to run something earlier, write it earlier");
    return;
  }
  Frame body;
  body.tree = frame.tree;
  body.statement = what.first_child;
  body.scope = &evaluator_.new_scope(frame.scope);
  body.setting = inside(frame.setting, frame.tree, what);
  body.now = *time;
  evaluator_.declare(body.tree, what.first_child, *body.scope);
  cursors_[cursor].frames.push_back(std::move(body));
}

void Expander::every_block(std::size_t cursor, const Statement& what) {
  const Frame frame = cursors_[cursor].frames.back();
  const Value from =
      evaluator_.evaluate_as(ValueKind::Instant, frame.tree, what.value, *frame.scope, "what follows `from`");
  const Value to =
      evaluator_.evaluate_as(ValueKind::Instant, frame.tree, what.second, *frame.scope, "what follows `to`");
  const Value step = evaluator_.evaluate_as(ValueKind::Duration, frame.tree, what.third, *frame.scope,
                                            "what follows `every`");
  const auto& expressions = tree(frame.tree).expressions;
  for (const Value* value : {&from, &to, &step}) {
    if (value->kind == ValueKind::Pending) note_pending(what.keyword);
  }
  if (!from.is_usable() || !to.is_usable() || !step.is_usable()) return;
  if (step.duration.nanoseconds <= 0) {
    diagnostics_->report(diagnostics::BadStep, expressions[what.third].span, to_text(step.duration))
        .hint("give the time from one turn to the next, such as `1 h`");
    return;
  }
  if (to.instant < from.instant) {
    diagnostics_
        ->report(diagnostics::ReversedInterval, expressions[what.second].span, utc(to.instant),
                 utc(from.instant))
        .context(expressions[what.value].span, "it begins here")
        .hint("the earlier instant comes first: swap the two, or look at the marks they hang on");
    return;
  }
  if (from.instant < frame.now) {
    diagnostics_
        ->report(diagnostics::Backwards, expressions[what.value].span, utc(from.instant), utc(frame.now))
        .hint(
            "statements in a block follow one another; give the repetition its own place in the load to run "
            "it earlier");
    return;
  }
  const std::int64_t turns = (to.instant - from.instant).nanoseconds / step.duration.nanoseconds + 1;
  if (turns > static_cast<std::int64_t>(limits_->commands)) {
    diagnostics_->report(diagnostics::TooManyCommands, expressions[what.third].span, limits_->commands)
        .hint("from " + utc(from.instant) + " to " + utc(to.instant) + " a step of " +
              to_text(step.duration) + " makes " + std::to_string(turns) + " turns: give a longer one");
    stopped_ = true;
    return;
  }
  Frame loop;
  loop.kind = FrameKind::Every;
  loop.tree = frame.tree;
  loop.statement = frame.statement;
  loop.scope = frame.scope;
  loop.setting = inside(frame.setting, frame.tree, what);
  loop.now = from.instant;
  loop.until = to.instant;
  loop.step = step.duration;
  cursors_[cursor].children_end = from.instant;
  cursors_[cursor].frames.push_back(std::move(loop));
}

bool Expander::step_every(std::size_t cursor) {
  Frame& frame = cursors_[cursor].frames.back();
  if (frame.now > frame.until) {
    frame.kind = FrameKind::Wait;
    return true;
  }
  if (frame.now > cursors_[cursor].key) {
    wake(cursor, frame.now);
    return false;
  }
  const Statement& what = tree(frame.tree).statements[frame.statement];
  if (!count_step(what.keyword)) return false;
  Frame body;
  body.tree = frame.tree;
  body.statement = what.first_child;
  body.scope = &evaluator_.new_scope(frame.scope);
  body.setting = frame.setting;
  body.now = frame.now;
  const auto next = checked_add(frame.now, frame.step);
  if (next) {
    frame.now = *next;
  } else {
    frame.kind = FrameKind::Wait;
  }
  evaluator_.declare(body.tree, what.first_child, *body.scope);
  ++cursors_[cursor].children;
  start_cursor(std::move(body), cursors_[cursor].root, cursor);
  return true;
}

void Expander::together(std::size_t cursor, const Statement& what) {
  const Frame frame = cursors_[cursor].frames.back();
  Scope& scope = evaluator_.new_scope(frame.scope);
  evaluator_.declare(frame.tree, what.first_child, scope);
  const SettingRef setting = inside(frame.setting, frame.tree, what);
  Frame wait;
  wait.kind = FrameKind::Wait;
  wait.tree = frame.tree;
  wait.now = frame.now;
  cursors_[cursor].children_end = frame.now;
  cursors_[cursor].frames.push_back(std::move(wait));
  for (StatementId id = what.first_child; id.is_valid(); id = tree(frame.tree).statements[id].next) {
    Frame body;
    body.tree = frame.tree;
    body.statement = id;
    body.single = true;
    body.scope = &scope;
    body.setting = setting;
    body.now = frame.now;
    ++cursors_[cursor].children;
    start_cursor(std::move(body), cursors_[cursor].root, cursor);
  }
}

bool Expander::step_wait(std::size_t cursor) {
  Cursor& self = cursors_[cursor];
  if (self.children > 0) {
    self.asleep = true;
    return false;
  }
  const bool last = self.frames.size() == 1;
  end_frame(cursor, self.children_end);
  return !last;
}

}  // namespace cairn
