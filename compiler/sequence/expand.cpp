// The discrete-event expansion. See expand.h.

#include "compiler/sequence/expand.h"

#include <algorithm>

#include "compiler/sequence/bring.h"
#include "compiler/syntax/formatter.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/spelling.h"

namespace cairn {

namespace {

constexpr std::string_view too_many_hint =
    "look for a repetition with a short step, above all one inside another; or split the load and plan the "
    "next with --after";

}  // namespace

Expander::Expander(const Program& program, const StartState& start, const SequenceLimits& limits,
                   Instant begin, Instant end, const BlockTable& known, Diagnostics& diagnostics)
    : program_(&program),
      limits_(&limits),
      begin_(begin),
      end_(end),
      diagnostics_(&diagnostics),
      marks_(program, begin, end, known),
      evaluator_(program, diagnostics,
                 [this](const Binding& mark) { return marks_.solve(mark, evaluator_, *load_scope_); }),
      tracker_(program.station->station, start) {}

std::string Expander::utc(Instant time) const { return format_utc_exact(time, *program_->leap_seconds); }

void Expander::run(SequencedLoad& load) {
  load_ = &load;
  load_scope_ = &evaluator_.new_scope(&evaluator_.globals());
  const StatementId first = program_->load->first_child;
  evaluator_.declare(0, first, *load_scope_);
  // Every name is looked at, used or not, so that a mistake does not wait for its first use.
  for (Scope* scope : {&evaluator_.globals(), load_scope_}) {
    for (auto& [name, binding] : scope->names) {
      const Value value = evaluator_.resolve(binding);
      if (value.kind == ValueKind::Pending) note_pending(binding.name.span);
      if (binding.mark != nullptr && value.is_usable())
        load.marks.push_back({name, value.instant, binding.name.span});
    }
  }
  for (StatementId id = first; id.is_valid(); id = tree(0).statements[id].next) {
    const Statement& what = tree(0).statements[id];
    if (what.kind == StatementKind::Note) load.notes.push_back(unescape(what.text.text));
  }
  start_roots(first, *load_scope_, std::make_shared<const Setting>());
  while (!queue_.empty() && !stopped_) {
    const std::size_t cursor = std::get<3>(queue_.top());
    queue_.pop();
    step(cursor);
  }
  if (!stopped_) state_rules();
}

// What stands outside every block that sets a time: each block there runs by itself.
void Expander::start_roots(StatementId first, Scope& scope, const SettingRef& setting) {
  for (StatementId id = first; id.is_valid() && !stopped_; id = tree(0).statements[id].next) {
    const Statement& what = tree(0).statements[id];
    const std::uint32_t root = roots_++;
    switch (what.kind) {
      case StatementKind::Let:
      case StatementKind::Mark:
      case StatementKind::Note:
      case StatementKind::Withdraw:  // read before anything runs
        break;
      case StatementKind::Require:
        require_over_span(what, scope);
        break;
      case StatementKind::Waive:
        waive(0, what, scope);
        break;
      case StatementKind::Each:
      case StatementKind::Repeat: {
        const std::int64_t turns = turns_of(0, what, scope).value_or(0);
        const SettingRef inner = inside(setting, 0, what);
        for (std::int64_t turn = 0; turn < turns && count_step(what.keyword); ++turn) {
          start_roots(what.first_child, turn_scope(0, what, turn, scope), inner);
        }
        break;
      }
      case StatementKind::If: {
        const StatementId block = chosen(0, what, scope);
        if (!block.is_valid()) break;
        Scope& inner = evaluator_.new_scope(&scope);
        evaluator_.declare(0, tree(0).statements[block].first_child, inner);
        start_roots(tree(0).statements[block].first_child, inner,
                    inside(setting, 0, tree(0).statements[block]));
        break;
      }
      case StatementKind::At:
      case StatementKind::Every: {
        Frame frame;
        frame.statement = id;
        frame.single = true;
        frame.scope = &scope;
        frame.setting = setting;
        frame.now = {INT64_MIN};  // no time yet: the block sets it
        start_cursor(std::move(frame), root, SIZE_MAX);
        break;
      }
      default:
        diagnostics_
            ->report(diagnostics::NoTime, what.keyword, std::string(program_->files->text(what.keyword)))
            .hint("put it into a block that sets the time: `at " + utc(begin_) + " { ... }`");
    }
  }
}

std::size_t Expander::start_cursor(Frame frame, std::uint32_t root, std::size_t parent) {
  std::size_t id = cursors_.size();
  if (free_.empty()) {
    cursors_.emplace_back();
    order_.push_back(0);
  } else {
    id = free_.back();
    free_.pop_back();
    cursors_[id] = Cursor{};
  }
  order_[id] = made_++;
  const Instant key = frame.now;
  cursors_[id].root = root;
  cursors_[id].parent = parent;
  cursors_[id].frames.push_back(std::move(frame));
  wake(id, key);
  return id;
}

void Expander::wake(std::size_t cursor, Instant key) {
  cursors_[cursor].key = key;
  queue_.emplace(key, cursors_[cursor].root, order_[cursor], cursor);
}

// Runs a cursor until it must wait for its turn, sleeps, or is done.
void Expander::step(std::size_t cursor) {
  bool go_on = true;
  while (go_on && !stopped_) {
    if (cursors_[cursor].frames.empty()) return;
    switch (cursors_[cursor].frames.back().kind) {
      case FrameKind::List:
        go_on = step_list(cursor);
        break;
      case FrameKind::Every:
        go_on = step_every(cursor);
        break;
      case FrameKind::Turns:
        go_on = step_turns(cursor);
        break;
      case FrameKind::Bring:
        go_on = step_bring(cursor);
        break;
      case FrameKind::Wait:
        go_on = step_wait(cursor);
        break;
    }
  }
}

void Expander::end_frame(std::size_t cursor, Instant at) {
  Cursor& self = cursors_[cursor];
  const Frame& frame = self.frames.back();
  if (!frame.name.empty()) found_[frame.name].end = at;
  self.frames.pop_back();
  if (!self.frames.empty()) {
    self.frames.back().now = std::max(self.frames.back().now, at);
    return;
  }
  const std::size_t parent_id = self.parent;
  free_.push_back(cursor);
  if (parent_id == SIZE_MAX) return;
  Cursor& parent = cursors_[parent_id];
  parent.children_end = std::max(parent.children_end, at);
  if (--parent.children == 0 && parent.asleep) {
    parent.asleep = false;
    wake(parent_id, parent.children_end);
  }
}

bool Expander::step_list(std::size_t cursor) {
  Frame& frame = cursors_[cursor].frames.back();
  if (!frame.statement.is_valid()) {
    const bool last = cursors_[cursor].frames.size() == 1;
    end_frame(cursor, frame.now);
    return !last;
  }
  const Statement& what = tree(frame.tree).statements[frame.statement];
  const bool takes_part = what.kind == StatementKind::Send || what.kind == StatementKind::Bring;
  if (takes_part && frame.now > cursors_[cursor].key) {
    wake(cursor, frame.now);
    return false;
  }
  const StatementId next = frame.single ? StatementId{} : what.next;
  const std::size_t depth = cursors_[cursor].frames.size() - 1;
  if (!statement(cursor, what)) return false;  // moved to a later time: again
  cursors_[cursor].frames[depth].statement = next;
  return true;
}

bool Expander::statement(std::size_t cursor, const Statement& what) {
  switch (what.kind) {
    case StatementKind::Send:
      return send(cursor, what);
    case StatementKind::Bring:
      return bring(cursor, what);
    case StatementKind::Do:
      call(cursor, what);
      break;
    case StatementKind::At:
      at_block(cursor, what);
      break;
    case StatementKind::After:
      after_block(cursor, what);
      break;
    case StatementKind::Every:
      every_block(cursor, what);
      break;
    case StatementKind::Together:
      together(cursor, what);
      break;
    case StatementKind::Each:
    case StatementKind::Repeat:
      turns_block(cursor, what);
      break;
    case StatementKind::If:
      choice(cursor, what);
      break;
    case StatementKind::Require:
      require_now(cursor, what);
      break;
    case StatementKind::Expect:
      expect(cursor, what);
      break;
    case StatementKind::Waive:
      waive(cursors_[cursor].frames.back().tree, what, *cursors_[cursor].frames.back().scope);
      break;
    case StatementKind::Holds:
    case StatementKind::Then:
    case StatementKind::Else:  // never met alone
    case StatementKind::Let:
    case StatementKind::Mark:
    case StatementKind::Note:
    case StatementKind::Withdraw:  // reported where withdrawals are read
      break;
  }
  return true;
}

void Expander::add_notes(Setting& setting, std::uint32_t index, StatementId first) {
  for (StatementId id = first; id.is_valid(); id = tree(index).statements[id].next) {
    const Statement& what = tree(index).statements[id];
    if (what.kind == StatementKind::Note) setting.notes.push_back(unescape(what.text.text));
  }
}

Expander::SettingRef Expander::inside(const SettingRef& outer, std::uint32_t index, const Statement& block) {
  auto setting = std::make_shared<Setting>(*outer);
  add_notes(*setting, index, block.first_child);
  if (block.kind == StatementKind::At || block.kind == StatementKind::Every) {
    setting->approximate = block.approximate;
    const ExpressionId last = block.kind == StatementKind::At ? block.value : block.third;
    setting->block =
        block.name.is_present()
            ? std::string(block.name.text)
            : in_one_line(program_->files->text(cover(block.keyword, tree(index).expressions[last].span)));
  }
  return setting;
}

bool Expander::count_step(Span place) {
  if (++steps_ <= limits_->commands) return true;
  diagnostics_->report(diagnostics::TooManyCommands, place, limits_->commands)
      .hint(std::string(too_many_hint));
  stopped_ = true;
  return false;
}

Expander::Room Expander::room_for(CommandId command) const {
  Room room{{INT64_MIN}, SIZE_MAX, {}};
  if (!load_->commands.empty()) {
    const Duration spacing = station().table.least_spacing;
    room = {load_->commands.back().time + spacing, load_->commands.size() - 1, spacing};
  }
  const auto last = last_of_.find(command);
  if (last == last_of_.end()) return room;
  const Duration spacing = station().commands[command].least_spacing;
  const Instant earliest = load_->commands[last->second].time + spacing;
  if (earliest > room.earliest) room = {earliest, last->second, spacing};
  return room;
}

bool Expander::place(std::size_t cursor, const TimedCommand& command, const Statement& what, bool by_bring,
                     Instant& time) {
  const SettingRef setting = cursors_[cursor].frames.back().setting;
  const std::string name = full_name(station(), command.command);
  if (time < begin_ || time > end_) {
    diagnostics_->report(diagnostics::OutsideSpan, what.span, name, utc(time))
        .context(program_->load->span_keyword, "the span is " + utc(begin_) + " to " + utc(end_))
        .hint(time < begin_
                  ? "it is " + to_text(begin_ - time) + " too early: move it, or begin the span earlier"
                  : "it is " + to_text(time - end_) + " too late: move it, or end the span later");
    return true;
  }
  const Room room = room_for(command.command);
  if (room.neighbour != SIZE_MAX && time < room.earliest) {
    if (setting->approximate) {
      time = ceil_to_tick(room.earliest, station().clock.tick);
      return false;
    }
    const Instant before = load_->commands[room.neighbour].time;
    diagnostics_
        ->report(diagnostics::Spacing, what.span, name, to_text(time - before),
                 full_name(station(), load_->commands[room.neighbour].command), to_text(room.needed))
        .context(load_->provenance[room.neighbour].source, "this runs at " + utc(before))
        .hint("it fits " + to_text(room.earliest - time) +
              " later: write `after` before it, or begin the block with `at about`, which moves its commands "
              "apart");
    return true;
  }
  if (load_->commands.size() >= limits_->commands) {
    diagnostics_->report(diagnostics::TooManyCommands, what.span, limits_->commands)
        .hint(std::string(too_many_hint));
    stopped_ = true;
    return true;
  }
  TimedCommand timed = command;
  timed.time = time;
  tracker_.apply(TimedCommandId{static_cast<std::uint32_t>(load_->commands.size())}, timed);
  last_of_[command.command] = load_->commands.size();
  cursors_[cursor].last_command = load_->commands.size();
  load_->commands.push_back(std::move(timed));
  load_->provenance.push_back({what.span, setting->calls, setting->block, setting->notes, by_bring});
  return true;
}

bool Expander::send(std::size_t cursor, const Statement& what) {
  Frame& frame = cursors_[cursor].frames.back();
  const auto command = command_of(evaluator_, frame.tree, what, *frame.scope);
  if (!command) return true;
  Instant time = round_to_tick(frame.now, station().clock.tick);
  if (!place(cursor, *command, what, false, time)) {
    frame.now = time;
    wake(cursor, time);
    return false;
  }
  frame.now = time + std::max(station().commands[command->command].duration, station().table.least_spacing);
  return true;
}

void Expander::report_no_path(const Statement& what, PartId part, StateId goal, Instant now) {
  const BringPlan plan = plan_bring(station(), tracker_, part, goal, now);
  const std::string name = full_name(station(), part);
  if (!plan.start_known && plan.reachable.size() <= 1 && plan.blocked.empty()) {
    diagnostics_->report(diagnostics::BringFromUnknown, what.span, name, utc(now))
        .hint(
            "give the part an initial state in the station model, or send a command that sets it from any "
            "state");
    return;
  }
  const std::string from = plan.start_known ? station().states[plan.start].name : "not known";
  auto builder =
      diagnostics_->report(diagnostics::BringNoPath, what.span, name, from, station().states[goal].name);
  std::string list;
  for (const StateId state : plan.reachable) {
    if (state.is_valid()) list += (list.empty() ? "`" : ", `") + station().states[state].name + "`";
  }
  builder.hint("at " + utc(now) + " it can reach " + (list.empty() ? "nothing" : list));
  const auto before = brings_before(station(), tracker_, part, goal, now);
  if (!before.empty()) {
    std::string lines;
    std::string words;
    const std::string_view text = program_->files->text(what.span.file);
    std::size_t begin = what.span.begin;
    while (begin > 0 && text[begin - 1] == ' ') --begin;
    const bool own_line = begin == 0 || text[begin - 1] == '\n';
    const std::string gap = own_line ? "\n" + std::string(what.span.begin - begin, ' ') : " ";
    for (const BringFirst& one : before) {
      const std::string line =
          "bring " + full_name(station(), one.part) + " to " + station().states[one.state].name;
      lines += line + gap;
      words += (words.empty() ? "`" : " and `") + line + "`";
    }
    builder.fix({what.span.file, what.span.begin, what.span.begin}, lines, FixKind::Guess,
                "it can be done after " + words);
  }
  std::set<std::string> said;
  for (const BlockedStep& blocked : plan.blocked) {
    const std::string text = "`" + full_name(station(), blocked.command) + "` cannot be used: " + blocked.why;
    if (!said.insert(text).second || said.size() > 6) continue;
    const Span place = program_->station->place(blocked.origin);
    if (place.is_valid()) {
      builder.context(place, text);
    } else {
      builder.hint(text);
    }
  }
}

void Expander::mend_part(DiagnosticBuilder& builder, UnitId unit, const PathName& path) const {
  const Word& word = path.second;
  const std::string& name = station().units[unit].name;
  std::vector<std::string> known;
  std::string list;
  for (const PartId part : station().units[unit].parts) {
    list += (list.empty() ? "`" : ", `") + full_name(station(), part) + "`";
    if (!station().parts[part].name.empty()) known.push_back(station().parts[part].name);
  }
  if (word.is_present()) {
    const PartId own = find_part(station(), unit, "");
    if (find_state(station(), own, word.text).is_valid()) {
      builder.hint("`" + std::string(word.text) + "` is a state: `bring " + name + " to " +
                   std::string(word.text) + "`");
      return;
    }
    if (const auto near = nearest_word(word.text, known)) {
      builder.fix(word.span, *near, FixKind::Guess, "did you mean `" + *near + "`?");
      return;
    }
  }
  builder.hint(list.empty() ? "it has no states; `send` its commands"
                            : "what can be brought to a state here: " + list);
}

bool Expander::bring(std::size_t cursor, const Statement& what) {
  Frame& frame = cursors_[cursor].frames.back();
  const PathName& path = tree(frame.tree).paths[what.path];
  const UnitId unit = named_unit(*program_, path.first, *diagnostics_);
  if (!unit.is_valid()) return true;
  const PartId part = path.third.is_present() ? PartId{} : find_part(station(), unit, path.second.text);
  if (!part.is_valid()) {
    const Word& word = path.second;
    auto builder = diagnostics_->report(diagnostics::UnknownPart, word.is_present() ? word.span : path.span,
                                        station().units[unit].name,
                                        word.is_present() ? std::string(word.text) : "(its own mode)");
    mend_part(builder, unit, path);
    return true;
  }
  const StateId goal = find_state(station(), part, what.name.text);
  if (!goal.is_valid()) {
    std::vector<std::string> known;
    for (const StateId state : station().parts[part].states) known.push_back(station().states[state].name);
    auto builder = diagnostics_->report(diagnostics::BringUnknownState, what.name.span,
                                        full_name(station(), part), std::string(what.name.text));
    if (const auto near = nearest_word(what.name.text, known)) {
      builder.fix(what.name.span, *near, FixKind::Guess, "did you mean `" + *near + "`?");
    } else {
      std::string list;
      for (const std::string& name : known) list += (list.empty() ? "`" : ", `") + name + "`";
      builder.hint("its states are " + list);
    }
    return true;
  }
  const Instant now = round_to_tick(frame.now, station().clock.tick);
  BringPlan plan = plan_bring(station(), tracker_, part, goal, now);
  if (!plan.found) {
    report_no_path(what, part, goal, now);
    return true;
  }
  if (plan.steps.empty()) {
    load_->nothing_sent.push_back({what.span, now, full_name(station(), part), station().states[goal].name});
    frame.now = std::max(frame.now, plan.ends);
    return true;
  }
  Frame chain;
  chain.kind = FrameKind::Bring;
  chain.tree = frame.tree;
  chain.statement = frame.statement;
  chain.scope = frame.scope;
  chain.setting = frame.setting;
  chain.now = plan.steps.front().command.time;
  chain.chain_end = plan.ends;
  for (BringStep& step : plan.steps) chain.chain.push_back(std::move(step.command));
  cursors_[cursor].frames.push_back(std::move(chain));
  return true;
}

bool Expander::step_bring(std::size_t cursor) {
  Frame& frame = cursors_[cursor].frames.back();
  if (frame.next == frame.chain.size()) {
    end_frame(cursor, frame.chain_end);
    return true;
  }
  const TimedCommand& command = frame.chain[frame.next];
  if (command.time > cursors_[cursor].key) {
    wake(cursor, command.time);
    return false;
  }
  Instant time = command.time;
  const Statement& what = tree(frame.tree).statements[frame.statement];
  if (!place(cursor, command, what, true, time)) {
    const Duration shift = time - command.time;
    for (std::size_t i = frame.next; i < frame.chain.size(); ++i)
      frame.chain[i].time = frame.chain[i].time + shift;
    frame.chain_end = frame.chain_end + shift;
    wake(cursor, time);
    return false;
  }
  ++frame.next;
  return true;
}

}  // namespace cairn
