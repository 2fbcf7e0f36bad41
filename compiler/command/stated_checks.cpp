// Rules to findings, and waivers to findings that count as accepted.
//
// A waiver accepts one check of one thing, in its interval, as far as it says: whatever goes further, lies
// outside or concerns something else fails as before.

#include "compiler/command/stated_checks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "compiler/text/catalogue.h"
#include "constraints/rules/predictions.h"

namespace cairn {

namespace {

std::string_view code_of(StatedKind kind) {
  switch (kind) {
    case StatedKind::Rule:
      return "rules/agreed";
    case StatedKind::Require:
      return "rules/requirement";
    case StatedKind::Expect:
      return "rules/expectation";
  }
  return {};
}

// +1 where the node is asked for, -1 where its opposite is, 0 where it does not stand below `from`.
int side_of(const RuleBook& book, RuleNodeId from, RuleNodeId node) {
  if (from == node) return 1;
  const RuleNode& at = book.nodes[from];
  for (const RuleNodeId below : {at.a, at.b}) {
    if (!below.is_valid()) continue;
    const int side = side_of(book, below, node);
    if (side != 0) return at.kind == RuleOperator::Not ? -side : side;
  }
  return 0;
}

// What was found and what it was held against, where the margin is a distance from a number.
void measure(const RuleBook& book, RuleNodeId condition, const RuleAnswer& answer, Finding& finding) {
  finding.value = answer.margin;
  if (!answer.decisive.is_valid()) return;
  const RuleNode& node = book.nodes[answer.decisive];
  const double side = side_of(book, condition, answer.decisive) < 0 ? -1 : 1;
  double above = 0;  // +1: the value must lie above its limit
  switch (node.kind) {
    case RuleOperator::AtLeast:
    case RuleOperator::MoreThan:
      above = side;
      finding.limit = node.limit;
      break;
    case RuleOperator::AtMost:
    case RuleOperator::LessThan:
      above = -side;
      finding.limit = node.limit;
      break;
    case RuleOperator::LastsAtLeast:
    case RuleOperator::OnlyAfter:
    case RuleOperator::Apart:
      above = 1;
      finding.limit = node.first.seconds();
      break;
    case RuleOperator::LastsAtMost:
    case RuleOperator::FollowedBy:
      above = -1;
      finding.limit = node.first.seconds();
      break;
    case RuleOperator::AtMostTimes:
      above = -1;
      finding.limit = node.limit;
      break;
    default:
      return;
  }
  finding.value = finding.limit + above * answer.margin;
}

bool is_about(const Finding& finding, const StatedWaiver& waiver) {
  const bool by_code = finding.code == waiver.check;
  const bool by_rule = finding.code == "rules/agreed" && finding.subject == waiver.check;
  if (!by_code && !by_rule) return false;
  return waiver.subject.empty() || finding.subject == waiver.subject ||
         finding.subject.starts_with(waiver.subject + " ");
}

// The dimension in which people say the value: temperatures of limits are readings.
Dimension said_in(const Finding& finding) {
  return finding.dimension == dimensions::temperature_difference ? dimensions::temperature
                                                                 : finding.dimension;
}

bool can_be_said_in(Dimension wanted, Dimension given) {
  return wanted == given ||
         (wanted == dimensions::temperature && given == dimensions::temperature_difference) ||
         (wanted == dimensions::count && given == dimensions::ratio);
}

class Waiving {
 public:
  Waiving(Compiled& compiled, const LeapSecondTable& leap_seconds, Diagnostics& diagnostics)
      : compiled_(compiled), leap_seconds_(leap_seconds), diagnostics_(diagnostics) {}

  void apply(std::size_t index) {
    const StatedWaiver& waiver = compiled_.load.waivers[index];
    std::vector<Finding*> met;
    std::set<std::string> subjects;
    const Finding* holding = nullptr;
    for (Finding& finding : compiled_.results.findings) {
      if (!is_about(finding, waiver)) continue;
      if (finding.verdict == Verdict::Holds) {
        holding = &finding;
        continue;
      }
      if (finding.time < waiver.from || finding.time > waiver.to) continue;
      met.push_back(&finding);
      subjects.insert(finding.subject);
    }
    if (met.empty()) return nothing(waiver, holding);
    if (subjects.size() > 1) return many(waiver, subjects, met);
    for (Finding* finding : met) {
      if (accepts(waiver, *finding)) finding->waiver = static_cast<std::uint32_t>(index) + 1;
    }
  }

 private:
  void nothing(const StatedWaiver& waiver, const Finding* holding) {
    auto builder = diagnostics_.report(diagnostics::WaiverNothing, waiver.check_place, waiver.check);
    if (holding != nullptr && holding->has_margin) {
      builder.hint(fmt::format("it holds with a margin of {}: take the waiver out",
                               show(holding->margin, holding->dimension, 4)));
    } else {
      builder.hint("take the waiver out, or look at its interval and at what it is about");
    }
  }

  void many(const StatedWaiver& waiver, const std::set<std::string>& subjects,
            const std::vector<Finding*>& met) {
    for (const Finding* finding : met) said(*finding);
    std::string list;
    for (const std::string& subject : subjects) list += (list.empty() ? "`" : ", `") + subject + "`";
    diagnostics_.report(diagnostics::WaiverSubject, waiver.check_place, waiver.check, list)
        .hint(fmt::format(
            "a waiver accepts one of them: write `{} of \"{}\"`, and a waiver for each of the others",
            waiver.check, *subjects.begin()));
  }

  bool accepts(const StatedWaiver& waiver, Finding& finding) {
    if (finding.interval_begin < waiver.from || finding.interval_end > waiver.to) {
      note(finding, fmt::format("the waiver accepts it from {} to {} only, and it lasts from {} to {}",
                                utc(waiver.from), utc(waiver.to), utc(finding.interval_begin),
                                utc(finding.interval_end)));
      return false;
    }
    if (!finding.has_margin) return true;
    const Dimension dimension = said_in(finding);
    if (!waiver.accepted) {
      said(finding);
      const std::string offer = outward(finding, dimension);
      diagnostics_.report(diagnostics::WaiverMargin, waiver.check_place, waiver.check)
          .fix({waiver.check_place.file, waiver.check_place.end, waiver.check_place.end}, " to " + offer,
               FixKind::Guess,
               fmt::format("it goes to {} here: to accept that much, write `{} to {}`",
                           show(finding.value, dimension, 5), waiver.check, offer));
      return false;
    }
    if (!can_be_said_in(dimension, waiver.dimension)) {
      said(finding);
      diagnostics_
          .report(diagnostics::UnitsMismatch, waiver.check_place, "compare", name_of(dimension),
                  name_of(waiver.dimension))
          .hint(fmt::format("say what is accepted as {}, such as `to {}`", name_of(dimension),
                            outward(finding, dimension)));
      return false;
    }
    const bool below = finding.value < finding.limit;
    const double beyond = below ? *waiver.accepted - finding.value : finding.value - *waiver.accepted;
    if (beyond <= 1e-9 * std::max(1.0, std::abs(finding.value))) return true;
    note(finding,
         fmt::format("the waiver accepts {} than {}, and it goes to {}", below ? "no less" : "no more",
                     show(*waiver.accepted, dimension, 5), show(finding.value, dimension, 5)));
    return false;
  }

  // The found value, rounded so that it is accepted: two digits behind the point of the unit people use.
  static std::string outward(const Finding& finding, Dimension dimension) {
    const bool below = finding.value < finding.limit;
    const auto rounded_out = [below](double value) {
      return (below ? std::floor(value * 100) : std::ceil(value * 100)) / 100;
    };
    if (dimension == dimensions::temperature)
      return fmt::format("{:g} degC", rounded_out(finding.value - 273.15));
    if (dimension == dimensions::power) return fmt::format("{:g} W", rounded_out(finding.value));
    if (dimension == dimensions::duration) return fmt::format("{:g} s", rounded_out(finding.value));
    if (dimension == dimensions::angle)
      return fmt::format("{:g} deg", rounded_out(finding.value * 57.29577951308232));
    return fmt::format("{:g}", below ? std::floor(finding.value) : std::ceil(finding.value));
  }

  // The waiver's own mistake is what is reported of this finding.
  void said(const Finding& finding) { compiled_.said.insert(index_of(finding)); }
  [[nodiscard]] std::size_t index_of(const Finding& finding) const {
    return static_cast<std::size_t>(&finding - compiled_.results.findings.data());
  }
  void note(const Finding& finding, std::string words) {
    compiled_.waiver_notes.emplace(index_of(finding), std::move(words));
  }
  [[nodiscard]] std::string utc(Instant time) const { return format_utc(time, leap_seconds_); }

  Compiled& compiled_;
  const LeapSecondTable& leap_seconds_;
  Diagnostics& diagnostics_;
};

}  // namespace

void check_rules(Compiled& compiled, const CheckInput& input) {
  const RuleBook& book = compiled.load.rules;
  compiled.first_rule = compiled.results.findings.size();
  if (book.rules.empty()) return;
  Predictions predictions;
  predictions.station = input.station;
  predictions.start = input.start;
  predictions.timeline = input.timeline;
  predictions.power = &compiled.results.power;
  predictions.heat = &compiled.results.heat;
  predictions.table = &compiled.results.table;
  predictions.sky = input.sky;
  const std::vector<RuleAnswer> answers = evaluate(book, gather(book, predictions));
  for (std::size_t i = 0; i < answers.size(); ++i) {
    const RuleAnswer& answer = answers[i];
    const StatedRule& stated = compiled.load.stated[i];
    Finding finding;
    finding.code = code_of(stated.kind);
    finding.check = CheckKind::Rules;
    finding.subject = stated.text;
    finding.verdict = answer.verdict;
    finding.assurance = answer.assurance;
    finding.has_margin = answer.has_margin;
    finding.margin = answer.margin;
    finding.dimension = answer.dimension;
    finding.time = answer.time;
    finding.interval_begin = answer.interval_begin;
    finding.interval_end = answer.interval_end;
    finding.cause = answer.commands;
    if (answer.vacuous) finding.detail = "never came to it";
    if (answer.has_margin) measure(book, book.rules[book.rules.id_at(i)].condition, answer, finding);
    compiled.results.findings.push_back(std::move(finding));
  }
}

void apply_waivers(Compiled& compiled, const LeapSecondTable& leap_seconds, Diagnostics& diagnostics) {
  Waiving waiving(compiled, leap_seconds, diagnostics);
  for (std::size_t i = 0; i < compiled.load.waivers.size(); ++i) waiving.apply(i);
}

const StatedRule* stated_rule(const Compiled& compiled, const Finding& finding) {
  const auto index = static_cast<std::size_t>(&finding - compiled.results.findings.data());
  if (index < compiled.first_rule || index - compiled.first_rule >= compiled.load.stated.size())
    return nullptr;
  return &compiled.load.stated[index - compiled.first_rule];
}

}  // namespace cairn
