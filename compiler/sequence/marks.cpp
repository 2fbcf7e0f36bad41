// Marks that are no plain expressions: crossings of the sky, uplink windows, blocks.

#include <algorithm>
#include <numbers>

#include "compiler/meaning/argument_words.h"
#include "compiler/sequence/expand.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/spelling.h"

namespace cairn {

Value MarkFinder::solve(const Binding& mark, Evaluator& evaluator, Scope& load_scope) {
  switch (mark.mark->kind) {
    case MarkKind::Crossing:
      return crossing(mark, evaluator);
    case MarkKind::Window:
      return window(mark, evaluator);
    case MarkKind::Block:
      return block(mark, evaluator, load_scope);
    case MarkKind::Expression:
      break;
  }
  return Value::error();
}

std::optional<std::int64_t> MarkFinder::occurrence(const Binding& mark, Evaluator& evaluator) {
  if (!mark.mark->occurrence.is_valid()) return 1;
  const Value value = evaluator.evaluate_as(ValueKind::Count, mark.tree, mark.mark->occurrence, *mark.scope,
                                            "the occurrence");
  if (!value.is_usable()) return std::nullopt;
  if (value.count >= 1) return value.count;
  const Span place = (*program_->trees)[mark.tree].expressions[mark.mark->occurrence].span;
  evaluator.diagnostics()
      .report(diagnostics::BadOccurrence, place, value.count)
      .hint("the first one in the span has the number 1");
  return std::nullopt;
}

// The one of these times, rising, that the mark asks for: the nth, the first after or the last before an
// instant.
MarkFinder::TimeChoice MarkFinder::choose(const Binding& mark, const std::vector<Instant>& times,
                                          std::int64_t number, Evaluator& evaluator) const {
  const MarkSource& source = *mark.mark;
  TimeChoice result;
  if (!source.beyond.is_valid()) {
    if (number <= static_cast<std::int64_t>(times.size())) {
      result.value = Value::of(times[static_cast<std::size_t>(number - 1)]);
    } else if (number > 1) {
      result.words = " " + std::to_string(number) + " times";
    }
    return result;
  }
  const Value limit = evaluator.evaluate_as(ValueKind::Instant, mark.tree, source.beyond, *mark.scope,
                                            source.last ? "what follows `before`" : "what follows `after`");
  if (!limit.is_usable()) {
    result.value = limit;
    result.said = true;
    return result;
  }
  result.words = (source.last ? " before " : " after ") + format_utc(limit.instant, *program_->leap_seconds);
  if (source.last) {
    const auto from = std::lower_bound(times.begin(), times.end(), limit.instant);
    if (from != times.begin()) result.value = Value::of(*std::prev(from));
  } else {
    const auto from = std::upper_bound(times.begin(), times.end(), limit.instant);
    if (from != times.end()) result.value = Value::of(*from);
  }
  return result;
}

std::string MarkFinder::times_in_words(const std::vector<Instant>& times, const Evaluator& evaluator) {
  constexpr std::size_t most = 4;
  std::string list;
  for (std::size_t i = 0; i < times.size() && i < most; ++i) {
    list += (i == 0 ? "at " : ", ") + format_utc(times[i], *evaluator.program().leap_seconds);
  }
  return times.size() > most ? list + " and " + std::to_string(times.size() - most) + " times more" : list;
}

std::optional<MarkFinder::Crossed> MarkFinder::crossed(std::uint32_t tree, const MarkSource& source,
                                                       Scope& scope, Evaluator& evaluator) {
  Crossed result;
  result.name = std::string(source.quantity.first.text) + "." + std::string(source.quantity.second.text);
  result.quantity = SkyQuantity::SunElevation;
  if (result.name == "sun.azimuth") {
    result.quantity = SkyQuantity::SunAzimuth;
  } else if (result.name == "earth.elevation") {
    result.quantity = SkyQuantity::EarthElevation;
  } else if (result.name != "sun.elevation" || source.quantity.third.is_present()) {
    const std::vector<std::string> known{"sun.elevation", "sun.azimuth", "earth.elevation"};
    auto builder =
        evaluator.diagnostics().report(diagnostics::MarkQuantity, source.quantity.span, result.name);
    if (const auto near = nearest_word(result.name, known)) {
      builder.fix(source.quantity.span, *near, FixKind::Guess, "did you mean `" + *near + "`?");
    } else {
      builder.hint("known are `sun.elevation`, `sun.azimuth` and `earth.elevation`");
    }
    return std::nullopt;
  }
  const Value value = evaluator.evaluate(tree, source.value, scope);
  if (!value.is_usable()) return std::nullopt;
  const Span place = (*program_->trees)[tree].expressions[source.value].span;
  if (value.kind != ValueKind::Quantity || value.dimension != dimensions::angle) {
    evaluator.diagnostics()
        .report(diagnostics::WrongType, place, "what `" + result.name + "` crosses", "an Angle",
                type_name(value))
        .hint("give an angle, such as `0.5 deg`");
    return std::nullopt;
  }
  result.level = value.number;
  if (!sky_) sky_ = site_sky(program_->station->station.site, begin_, end_);
  for (const Crossing& found : crossings(*sky_, result.quantity, result.level, begin_, end_)) {
    if (found.rises == source.rises) result.times.push_back(found.time);
  }
  return result;
}

Value MarkFinder::crossing(const Binding& mark, Evaluator& evaluator) {
  const MarkSource& source = *mark.mark;
  const auto found = crossed(mark.tree, source, *mark.scope, evaluator);
  const auto number = occurrence(mark, evaluator);
  if (!found || !number) return Value::error();
  const auto choice = choose(mark, found->times, *number, evaluator);
  if (choice.value.kind != ValueKind::Error || choice.said) return choice.value;
  const Range range = range_of(*sky_, found->quantity, begin_, end_);
  auto builder = evaluator.diagnostics().report(diagnostics::MarkNoSolution, mark.name.span, found->name,
                                                source.rises ? "rises above" : "falls below",
                                                show(found->level, dimensions::angle), choice.words);
  builder.hint("over the span it goes from " + show(range.low, dimensions::angle) + " to " +
               show(range.high, dimensions::angle) +
               (found->times.empty() ? "" : ", and crosses so " + times_in_words(found->times, evaluator)));
  return Value::error();
}

std::optional<AntennaId> MarkFinder::named_antenna(const MarkSource& source, Evaluator& evaluator) const {
  const Station& station = program_->station->station;
  const AntennaId antenna = find_antenna(station, source.antenna.text);
  if (antenna.is_valid()) return antenna;
  std::vector<std::string> known;
  for (const Antenna& candidate : station.antennas) known.push_back(candidate.name);
  auto builder = evaluator.diagnostics().report(diagnostics::UnknownAntenna, source.antenna.span,
                                                std::string(source.antenna.text));
  suggest_word(builder, source.antenna, known, "the station file lists no `windows`");
  return std::nullopt;
}

std::vector<Instant> MarkFinder::edges(AntennaId antenna, bool opens) const {
  std::vector<Instant> times;
  for (const Window& window : program_->station->station.windows) {
    if (window.antenna != antenna || window.closes < begin_ || window.opens > end_) continue;
    times.push_back(opens ? window.opens : window.closes);
  }
  std::sort(times.begin(), times.end());
  return times;
}

Value MarkFinder::window(const Binding& mark, Evaluator& evaluator) {
  const MarkSource& source = *mark.mark;
  const Station& station = program_->station->station;
  const auto number = occurrence(mark, evaluator);
  if (!number) return Value::error();
  const auto antenna = named_antenna(source, evaluator);
  if (!antenna) return Value::error();
  const std::vector<Instant> times = edges(*antenna, source.opens);
  const auto choice = choose(mark, times, *number, evaluator);
  if (choice.value.kind != ValueKind::Error || choice.said) return choice.value;
  const std::string name(source.antenna.text);
  const std::size_t seen = times.size();
  auto builder =
      source.beyond.is_valid()
          ? evaluator.diagnostics().report(diagnostics::MarkNoSolution, mark.name.span, "window " + name,
                                           source.opens ? "opens" : "closes", "", choice.words.substr(1))
          : evaluator.diagnostics().report(diagnostics::MarkNoWindow, source.antenna.span, name, *number,
                                           seen);
  const Span place = program_->station->place(station.antennas[*antenna].origin);
  if (place.is_valid()) builder.context(place, "its windows are listed here");
  builder.hint(windows_in_words(*antenna, evaluator));
  return Value::error();
}

std::optional<std::vector<Instant>> MarkFinder::all(std::uint32_t tree, const MarkSource& source,
                                                    Scope& scope, Evaluator& evaluator, bool& is_pending) {
  Instant from = begin_;
  Instant to = end_;
  if (source.from.is_valid()) {
    const Value low = evaluator.evaluate_as(ValueKind::Instant, tree, source.from, scope, "the first time");
    const Value high = evaluator.evaluate_as(ValueKind::Instant, tree, source.to, scope, "the last time");
    is_pending = low.kind == ValueKind::Pending || high.kind == ValueKind::Pending;
    if (!low.is_usable() || !high.is_usable()) return std::nullopt;
    from = std::max(from, low.instant);
    to = std::min(to, high.instant);
  }
  std::vector<Instant> times;
  std::string words;
  std::string instead;
  Span place = source.quantity.span;
  if (source.kind == MarkKind::Window) {
    const auto antenna = named_antenna(source, evaluator);
    if (!antenna) return std::nullopt;
    times = edges(*antenna, source.opens);
    words = "window " + std::string(source.antenna.text) + (source.opens ? " opens" : " closes");
    instead = windows_in_words(*antenna, evaluator);
    place = source.antenna.span;
  } else {
    auto found = crossed(tree, source, scope, evaluator);
    if (!found) return std::nullopt;
    const Range range = range_of(*sky_, found->quantity, begin_, end_);
    words = found->name + (source.rises ? " rises above " : " falls below ") +
            show(found->level, dimensions::angle);
    instead = "over the span it goes from " + show(range.low, dimensions::angle) + " to " +
              show(range.high, dimensions::angle) +
              (found->times.empty() ? "" : ", and crosses so " + times_in_words(found->times, evaluator));
    times = std::move(found->times);
  }
  std::erase_if(times, [&](Instant time) { return time < from || time > to; });
  if (!times.empty()) return times;
  evaluator.diagnostics()
      .report(diagnostics::NothingFound, place, words,
              source.from.is_valid() ? "between " + format_utc(from, *program_->leap_seconds) + " and " +
                                           format_utc(to, *program_->leap_seconds)
                                     : std::string("in the span"))
      .hint(instead);
  return std::nullopt;
}

// What windows there are instead: those in the span, else the nearest ones.
std::string MarkFinder::windows_in_words(AntennaId antenna, const Evaluator& evaluator) const {
  const LeapSecondTable& leap_seconds = *evaluator.program().leap_seconds;
  constexpr std::size_t most = 6;
  std::string inside;
  std::string before;
  std::string after;
  std::size_t count = 0;
  for (const Window& window : program_->station->station.windows) {
    if (window.antenna != antenna) continue;
    const std::string opens = format_utc(window.opens, leap_seconds);
    if (window.closes < begin_) {
      before = opens;
    } else if (window.opens > end_) {
      if (after.empty()) after = opens;
    } else if (++count <= most) {
      inside += (inside.empty() ? "" : ", ") + std::to_string(count) + " at " + opens;
    }
  }
  if (count > most) inside += " and " + std::to_string(count - most) + " more";
  if (count > 0)
    return "they open: " + inside + (after.empty() ? "" : "; the next after the span at " + after);
  std::string nearest = before.empty() ? "" : "the last before opens at " + before;
  if (!after.empty())
    nearest += (nearest.empty() ? "the next after opens at " : ", the next after at ") + after;
  return nearest + ": give the load another span";
}

Value MarkFinder::block(const Binding& mark, Evaluator& evaluator, Scope& load_scope) {
  const MarkSource& source = *mark.mark;
  const auto found = program_->blocks.find(source.block.text);
  if (found == program_->blocks.end()) {
    std::vector<std::string> known;
    for (const auto& entry : program_->blocks) known.push_back(entry.first);
    const std::string name(source.block.text);
    auto builder = evaluator.diagnostics().report(diagnostics::UnknownBlock, source.block.span, name);
    if (const auto near = nearest_word(name, known)) {
      builder.fix(source.block.span, *near, FixKind::Guess, "did you mean `" + *near + "`?");
    } else {
      builder.hint("name a block with `at T as " + name + " { ... }`");
    }
    return Value::error();
  }
  const Tree& tree = program_->trees->front();
  if (source.at_start) {
    for (StatementId id = program_->load->first_child; id.is_valid(); id = tree.statements[id].next) {
      if (id != found->second.statement) continue;
      return evaluator.evaluate_as(ValueKind::Instant, 0, tree.statements[id].value, load_scope,
                                   "the block's time");
    }
  }
  consulted_blocks_ = true;
  const auto times = known_->find(source.block.text);
  if (times != known_->end()) return Value::of(source.at_start ? times->second.start : times->second.end);
  Value pending;
  pending.kind = ValueKind::Pending;
  return pending;
}

}  // namespace cairn
