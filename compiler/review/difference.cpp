// Pair by pair: commands, checks, windows, values, inputs.

#include "compiler/review/difference.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "compiler/review/pair_plans.h"

namespace cairn {

namespace {

void note_value(std::vector<ValueDifference>& list, std::string what, std::string before, std::string after) {
  if (before != after) list.push_back({std::move(what), std::move(before), std::move(after)});
}

using Values = std::map<std::string, std::string>;

void note_values(std::vector<ValueDifference>& list, const Values& before, const Values& after) {
  std::set<std::string> names;
  for (const auto& [name, value] : before) names.insert(name);
  for (const auto& [name, value] : after) names.insert(name);
  const auto of = [](const Values& values, const std::string& name) {
    const auto found = values.find(name);
    return found == values.end() ? std::string() : found->second;
  };
  for (const std::string& name : names) note_value(list, name, of(before, name), of(after, name));
}

class Comparer {
 public:
  Comparer(const ReviewedPlan& before, const ReviewedPlan& after, const FindText& find_text)
      : before_(before), after_(after), find_text_(find_text) {}

  Difference all() {
    head();
    commands();
    checks();
    windows();
    table();
    end_state();
    note_values(result_.marks, before_.marks, after_.marks);
    inputs();
    waivers();
    rules();
    return std::move(result_);
  }

 private:
  void head() {
    note_value(result_.head, "load", before_.load, after_.load);
    note_value(result_.head, "station", before_.station, after_.station);
    note_value(result_.head, "begin", before_.begin, after_.begin);
    note_value(result_.head, "end", before_.end, after_.end);
    note_value(result_.head, "previous plan", before_.previous_plan, after_.previous_plan);
    note_value(result_.head, "verdict", before_.verdict, after_.verdict);
  }

  void commands() {
    PairedPlans paired = pair_plans(before_, after_);
    result_.renamed_blocks = std::move(paired.renamed_blocks);
    twin_of_before_.assign(before_.commands.size(), std::nullopt);
    twin_of_after_.assign(after_.commands.size(), std::nullopt);
    for (const MatchPair& pair : paired.pairs) {
      twin_of_before_[pair.before] = pair.after;
      twin_of_after_[pair.after] = pair.before;
      command_pair(pair);
    }
    for (std::size_t i = 0; i < before_.commands.size(); ++i) {
      if (twin_of_before_[i]) continue;
      CommandDifference removed;
      removed.before = i;
      result_.commands.push_back(removed);
    }
    for (std::size_t i = 0; i < after_.commands.size(); ++i) {
      if (twin_of_after_[i]) continue;
      CommandDifference added;
      added.after = i;
      result_.commands.push_back(added);
    }
    const auto when = [this](const CommandDifference& change) {
      const Instant time =
          change.after ? after_.commands[*change.after].instant : before_.commands[*change.before].instant;
      return std::tuple(time, change.before.value_or(0), change.after.value_or(0));
    };
    std::sort(result_.commands.begin(), result_.commands.end(),
              [&](const CommandDifference& a, const CommandDifference& b) { return when(a) < when(b); });
  }

  void command_pair(const MatchPair& pair) {
    const ReviewedCommand& old_one = before_.commands[pair.before];
    const ReviewedCommand& new_one = after_.commands[pair.after];
    CommandDifference change;
    change.before = pair.before;
    change.after = pair.after;
    change.moved = old_one.instant != new_one.instant;
    change.shift = new_one.instant - old_one.instant;
    change.reargued = old_one.arguments != new_one.arguments;
    change.redefined = old_one.command_number != new_one.command_number ||
                       old_one.command_class != new_one.command_class ||
                       old_one.entry_bytes != new_one.entry_bytes || old_one.immediate != new_one.immediate ||
                       (!change.reargued && old_one.raw != new_one.raw);
    change.restaged = old_one.window != new_one.window;
    change.renoted = old_one.notes != new_one.notes;
    if (change.matters() || change.restaged || change.renoted) {
      result_.commands.push_back(change);
    } else if (old_one.number != new_one.number || old_one.sequence_count != new_one.sequence_count) {
      ++result_.renumbered;
    } else {
      ++result_.same;
    }
  }

  void checks() {
    // The same check may be answered more than once: then in order.
    using Key = std::tuple<std::string, std::string, std::string>;
    std::map<Key, std::pair<std::vector<std::size_t>, std::vector<std::size_t>>> rows;
    const auto key = [](const ReviewedCheck& check) { return Key(check.code, check.subject, check.detail); };
    for (std::size_t i = 0; i < before_.checks.size(); ++i) rows[key(before_.checks[i])].first.push_back(i);
    for (std::size_t i = 0; i < after_.checks.size(); ++i) rows[key(after_.checks[i])].second.push_back(i);
    for (const auto& [check, sides] : rows) {
      for (std::size_t i = 0; i < std::max(sides.first.size(), sides.second.size()); ++i) {
        CheckDifference change;
        if (i < sides.first.size()) change.before = sides.first[i];
        if (i < sides.second.size()) change.after = sides.second[i];
        if (change.before && change.after) {
          const ReviewedCheck& old_one = before_.checks[*change.before];
          const ReviewedCheck& new_one = after_.checks[*change.after];
          change.verdict = old_one.verdict != new_one.verdict || old_one.assurance != new_one.assurance;
          change.margin = old_one.margin != new_one.margin;
          change.limit = old_one.limit != new_one.limit;
          if (!change.verdict && !change.margin && !change.limit) continue;
        }
        result_.checks.push_back(change);
      }
    }
    const auto rank = [this](const CheckDifference& change) {
      const std::string& verdict =
          change.after ? after_.checks[*change.after].verdict : before_.checks[*change.before].verdict;
      const int word = verdict == "fails" ? 0 : verdict == "unproven" ? 1 : 2;
      return std::tuple(!(change.verdict || !change.before || !change.after), word,
                        change.after.value_or(*std::max(change.before, change.after)));
    };
    std::stable_sort(result_.checks.begin(), result_.checks.end(),
                     [&](const CheckDifference& a, const CheckDifference& b) { return rank(a) < rank(b); });
  }

  void windows() {
    // A window that carries several batches stands there as often: in order.
    using Key = std::tuple<std::string, std::string, std::size_t>;
    std::map<Key, std::pair<std::optional<std::size_t>, std::optional<std::size_t>>> rows;
    const auto keys = [](const std::vector<ReviewedWindow>& windows) {
      std::map<std::pair<std::string, std::string>, std::size_t> seen;
      std::vector<Key> result;
      for (const ReviewedWindow& one : windows) {
        result.emplace_back(one.opens, one.antenna, seen[{one.opens, one.antenna}]++);
      }
      return result;
    };
    const std::vector<Key> olds = keys(before_.windows);
    const std::vector<Key> news = keys(after_.windows);
    for (std::size_t i = 0; i < olds.size(); ++i) rows[olds[i]].first = i;
    for (std::size_t i = 0; i < news.size(); ++i) rows[news[i]].second = i;
    for (const auto& [key, sides] : rows) window_pair(sides.first, sides.second);
  }

  void window_pair(std::optional<std::size_t> old_index, std::optional<std::size_t> new_index) {
    const ReviewedWindow none;
    const ReviewedWindow& old_one = old_index ? before_.windows[*old_index] : none;
    const ReviewedWindow& new_one = new_index ? after_.windows[*new_index] : none;
    WindowDifference change;
    change.before = old_index;
    change.after = new_index;
    change.closes = old_index && new_index && old_one.closes != new_one.closes;
    change.bytes = old_one.sha256 != new_one.sha256;
    std::set<std::size_t> carried;
    const std::set<std::size_t> now(new_one.commands.begin(), new_one.commands.end());
    for (const std::size_t number : old_one.commands) {
      const auto twin =
          number >= 1 && number <= twin_of_before_.size() ? twin_of_before_[number - 1] : std::nullopt;
      if (twin && now.contains(*twin + 1)) {
        carried.insert(*twin + 1);
      } else {
        change.left.push_back(number);
      }
    }
    for (const std::size_t number : new_one.commands) {
      if (!carried.contains(number)) change.joined.push_back(number);
    }
    const bool window_itself = !old_index || !new_index || change.closes;
    if (window_itself || change.bytes) result_.windows.push_back(std::move(change));
  }

  void table() {
    const auto number = [](double value) { return fmt::format("{}", value); };
    note_value(result_.table, "peak entries", number(before_.peak.entries), number(after_.peak.entries));
    note_value(result_.table, "peak bytes", number(before_.peak.bytes), number(after_.peak.bytes));
    note_value(result_.table, "most entries", number(before_.entries_cap), number(after_.entries_cap));
    note_value(result_.table, "most bytes", number(before_.bytes_cap), number(after_.bytes_cap));
    note_values(result_.table, before_.withdrawn, after_.withdrawn);
  }

  void end_state() {
    note_values(result_.end_state, before_.end_state, after_.end_state);
    // To a thousandth of a kelvin: below that it is the solver's own step that shows.
    Values olds;
    Values news;
    for (const auto& [node, kelvin] : before_.end_temperatures)
      olds["temperature " + node] = fmt::format("{:.3f} K", kelvin);
    for (const auto& [node, kelvin] : after_.end_temperatures)
      news["temperature " + node] = fmt::format("{:.3f} K", kelvin);
    note_values(result_.end_state, olds, news);
  }

  void waivers() {
    // The nth of one check with the nth of it.
    const auto by_name = [](const std::vector<ReviewedWaiver>& list) {
      std::map<std::pair<std::string, std::size_t>, const ReviewedWaiver*> found;
      std::map<std::string, std::size_t> seen;
      for (const ReviewedWaiver& one : list) found[{one.of, seen[one.of]++}] = &one;
      return found;
    };
    const auto olds = by_name(before_.waivers);
    const auto news = by_name(after_.waivers);
    for (const auto& [key, old_one] : olds) {
      const auto new_one = news.find(key);
      if (new_one == news.end()) {
        result_.waivers.push_back({key.first, old_one->says, "", old_one->source});
      } else if (new_one->second->says != old_one->says) {
        result_.waivers.push_back({key.first, old_one->says, new_one->second->says, new_one->second->source});
      }
    }
    for (const auto& [key, new_one] : news) {
      if (!olds.contains(key)) result_.waivers.push_back({key.first, "", new_one->says, new_one->source});
    }
  }

  // The head of the rule that the lines stand in, or that is among them; empty: neither.
  static std::string rule_of(const LineDifference& run) {
    if (run.within.starts_with("rule ")) return run.within;
    for (const std::vector<std::string>* lines : {&run.new_lines, &run.old_lines}) {
      for (const std::string& line : *lines) {
        if (!line.starts_with("rule ")) continue;
        const std::size_t end = line.find(" {");
        return line.substr(0, end);
      }
    }
    return {};
  }

  // What the texts say otherwise inside a rule.
  void rules() {
    const auto joined = [](const std::vector<std::string>& lines) {
      std::string text;
      for (const std::string& line : lines) {
        const std::size_t begin = line.find_first_not_of(" \t");
        if (begin != std::string::npos) text += (text.empty() ? "" : " ") + line.substr(begin);
      }
      return text;
    };
    for (const InputDifference& input : result_.inputs) {
      for (const LineDifference& run : input.lines) {
        const std::string rule = rule_of(run);
        if (rule.empty()) continue;
        const std::size_t line = run.new_lines.empty() ? run.old_first : run.new_first;
        result_.rules.push_back({rule, joined(run.old_lines), joined(run.new_lines), {input.name, line}});
      }
    }
  }

  void inputs() {
    Values olds;
    Values news;
    for (const ReviewedInput& input : before_.inputs) olds[input.name] = input.sha256;
    for (const ReviewedInput& input : after_.inputs) news[input.name] = input.sha256;
    std::vector<ValueDifference> changed;
    note_values(changed, olds, news);
    for (const ValueDifference& change : changed) {
      InputDifference input;
      input.name = change.what;
      input.old_sha256 = change.before;
      input.new_sha256 = change.after;
      const auto text = [&](const std::string& digest) {
        return digest.empty() || !find_text_ ? std::nullopt : find_text_(change.what, digest);
      };
      const auto old_text = text(change.before);
      const auto new_text = text(change.after);
      if (old_text && new_text) {
        input.texts = true;
        input.lines = compare_lines(*old_text, *new_text);
      }
      result_.inputs.push_back(std::move(input));
    }
  }

  const ReviewedPlan& before_;
  const ReviewedPlan& after_;
  const FindText& find_text_;
  std::vector<std::optional<std::size_t>> twin_of_before_;
  std::vector<std::optional<std::size_t>> twin_of_after_;
  Difference result_;
};

}  // namespace

bool Difference::matters() const {
  const auto command = [](const CommandDifference& change) { return change.matters() || change.restaged; };
  return !head.empty() || std::any_of(commands.begin(), commands.end(), command) || !checks.empty() ||
         !windows.empty() || !waivers.empty() || !table.empty() || !end_state.empty();
}

Difference compare_plans(const ReviewedPlan& before, const ReviewedPlan& after, const FindText& find_text) {
  return Comparer(before, after, find_text).all();
}

}  // namespace cairn
