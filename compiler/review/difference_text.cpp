// The difference as text. A sign opens each row, so that nothing is said by colour alone; on a narrow
// terminal a row goes over several lines instead of being cut.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "compiler/review/difference.h"

namespace cairn {

namespace {

constexpr int narrow_below = 100;

class Text {
 public:
  Text(const Difference& difference, const ReviewedPlan& before, const ReviewedPlan& after,
       const DifferenceStyle& style)
      : difference_(difference), before_(before), after_(after), style_(style) {}

  std::string all() {
    head();
    commands();
    checks();
    values("Waivers", difference_.waivers);
    values("Rules", difference_.rules);
    values("Command table", difference_.table);
    windows();
    values("State at the end", difference_.end_state);
    values("Marks", difference_.marks);
    inputs();
    if (!difference_.matters()) out_ += "\nnothing that matters has changed\n";
    return std::move(out_);
  }

 private:
  [[nodiscard]] bool narrow() const { return style_.width < narrow_below; }
  [[nodiscard]] std::string paint(std::string_view code, std::string_view text) const {
    return style_.colour ? fmt::format("\x1b[{}m{}\x1b[0m", code, text) : std::string(text);
  }
  void heading(std::string_view words) { out_ += "\n" + paint("1", words) + "\n"; }

  // "+" added, "-" removed, ">" moved, "~" otherwise changed.
  void row(char sign, const std::string& first, const std::vector<std::string>& rest) {
    const std::string_view colour = sign == '+' ? "32" : sign == '-' ? "31" : sign == '>' ? "36" : "33";
    std::string line = fmt::format("  {} {}", paint(colour, std::string(1, sign)), first);
    for (const std::string& part : rest) {
      if (!part.empty()) line += (narrow() ? "\n      " : "  ") + part;
    }
    out_ += line + "\n";
  }

  void head() {
    const auto line = [this](std::string_view word, const ReviewedPlan& plan) {
      out_ += fmt::format("{}  {} for {}, {} to {}, {} commands, verdict {}, sha256 {}\n", word, plan.load,
                          plan.station, plan.begin, plan.end, plan.commands.size(), plan.verdict,
                          plan.digest.substr(0, 16));
    };
    line("old", before_);
    line("new", after_);
    for (const ValueDifference& change : difference_.head) value(change);
  }

  static std::string place(const ReviewedCommand& command) {
    std::string text;
    for (const Place& call : command.calls) text += fmt::format("{}:{} ", call.file, call.line);
    return text + fmt::format("{}:{}", command.source.file, command.source.line);
  }
  static std::string call(const ReviewedCommand& command) {
    const std::string name = (command.immediate ? "now " : "") + command.command;
    return command.arguments.empty() ? name : name + " " + command.arguments;
  }
  static std::string shift_text(Duration shift) {
    return (shift.nanoseconds > 0 ? "+" : "") + to_text(shift);
  }

  void commands() {
    std::size_t added = 0;
    std::size_t removed = 0;
    std::size_t moved = 0;
    std::size_t reargued = 0;
    std::size_t redefined = 0;
    std::size_t restaged = 0;
    std::size_t renoted = 0;
    for (const CommandDifference& change : difference_.commands) {
      added += change.before ? 0U : 1U;
      removed += change.after ? 0U : 1U;
      moved += change.moved ? 1 : 0;
      reargued += change.reargued ? 1 : 0;
      redefined += change.redefined ? 1 : 0;
      restaged += change.restaged ? 1 : 0;
      renoted += change.renoted ? 1 : 0;
    }
    heading("Commands");
    std::string sum;
    const auto part = [&sum](std::size_t count, std::string_view words) {
      if (count > 0) sum += fmt::format("{}{} {}", sum.empty() ? "" : ", ", count, words);
    };
    part(added, "added");
    part(removed, "removed");
    part(moved, "moved");
    part(reargued, "re-argued");
    part(redefined, "defined otherwise");
    part(restaged, "sent in another window");
    part(renoted, "with other notes");
    part(difference_.renumbered, "renumbered only");
    part(difference_.same, "the same");
    out_ += "  " + (sum.empty() ? "none" : sum) + "\n";
    for (std::size_t i = 0; i < difference_.commands.size();) i = command_rows(i);
    for (const auto& [old_name, new_name] : difference_.renamed_blocks) {
      row('~', fmt::format("block `{}` is now `{}`", old_name, new_name), {});
    }
  }

  // Three or more in a row of one block that all moved by the same time and are the same otherwise: one row.
  std::size_t command_rows(std::size_t i) {
    const CommandDifference& change = difference_.commands[i];
    const auto only_moved = [](const CommandDifference& c) { return c.moved && !c.reargued && !c.redefined; };
    std::size_t end = i + 1;
    if (only_moved(change)) {
      const std::string& block = after_.commands[*change.after].block;
      while (end < difference_.commands.size() && only_moved(difference_.commands[end]) &&
             difference_.commands[end].shift == change.shift &&
             after_.commands[*difference_.commands[end].after].block == block) {
        ++end;
      }
      if (end - i >= 3) {
        const ReviewedCommand& first = after_.commands[*change.after];
        const ReviewedCommand& last = after_.commands[*difference_.commands[end - 1].after];
        row('>', fmt::format("{} commands of block `{}`  {}", end - i, block, shift_text(change.shift)),
            {fmt::format("numbers {} to {}, now {} to {}", first.number, last.number, first.time,
                         last.time)});
        return end;
      }
    }
    command(change);
    return i + 1;
  }

  void command(const CommandDifference& change) {
    if (!change.matters()) return;
    if (!change.before || !change.after) {
      const ReviewedCommand& one =
          change.after ? after_.commands[*change.after] : before_.commands[*change.before];
      row(change.after ? '+' : '-', fmt::format("{}  {}", one.time, call(one)),
          {fmt::format("number {}", one.number), one.command_class == "routine" ? "" : one.command_class,
           "block `" + one.block + "`", place(one)});
      return;
    }
    const ReviewedCommand& old_one = before_.commands[*change.before];
    const ReviewedCommand& new_one = after_.commands[*change.after];
    std::vector<std::string> rest;
    if (change.moved) rest.push_back(fmt::format("{} (it was {})", shift_text(change.shift), old_one.time));
    if (change.reargued) rest.push_back(fmt::format("it was {}", call(old_one)));
    if (old_one.command_number != new_one.command_number)
      rest.push_back(
          fmt::format("number in the dictionary {} -> {}", old_one.command_number, new_one.command_number));
    if (old_one.immediate != new_one.immediate)
      rest.emplace_back(new_one.immediate ? "it was stored, and runs when it is received now"
                                          : "it ran when it was received, and is stored now");
    if (old_one.command_class != new_one.command_class)
      rest.push_back(fmt::format("class {} -> {}", old_one.command_class, new_one.command_class));
    if (old_one.entry_bytes != new_one.entry_bytes)
      rest.push_back(fmt::format("bytes in the table {} -> {}", old_one.entry_bytes, new_one.entry_bytes));
    if (!change.reargued && old_one.raw != new_one.raw)
      rest.push_back(fmt::format("raw values {} -> {}", old_one.raw, new_one.raw));
    rest.push_back(fmt::format("number {}", new_one.number));
    rest.push_back("block `" + new_one.block + "`");
    rest.push_back(place(new_one));
    const bool only_moved = change.moved && !change.reargued && !change.redefined;
    row(only_moved ? '>' : '~', fmt::format("{}  {}", new_one.time, call(new_one)), rest);
  }

  static std::string quantity(std::optional<double> value, const std::string& unit, bool sign) {
    if (!value) return "none";
    if (unit == "s") {
      // Long ones to the second: as exact as anyone acts on.
      const double step = std::abs(*value) > 60 ? 1 : 0.001;
      if (const auto duration = duration_from_seconds(std::round(*value / step) * step)) {
        return (sign && duration->nanoseconds > 0 ? "+" : "") + to_text(*duration);
      }
    }
    std::string text = fmt::format("{:.6g}", *value == 0 ? 0.0 : *value);
    if (sign && *value > 0) text = "+" + text;
    return unit.empty() ? text : text + " " + unit;
  }

  void checks() {
    if (difference_.checks.empty()) return;
    heading("Checks");
    for (const CheckDifference& change : difference_.checks) {
      const ReviewedCheck& one = change.after ? after_.checks[*change.after] : before_.checks[*change.before];
      std::string name = one.code + " " + one.subject + (one.detail.empty() ? "" : " (" + one.detail + ")");
      if (!change.before || !change.after) {
        row(change.after ? '+' : '-', name, {one.verdict, "margin " + quantity(one.margin, one.unit, true)});
        continue;
      }
      const ReviewedCheck& old_one = before_.checks[*change.before];
      std::vector<std::string> rest;
      if (change.verdict) {
        rest.push_back(old_one.verdict == one.verdict
                           ? fmt::format("{}, {} -> {}", one.verdict, old_one.assurance, one.assurance)
                           : fmt::format("{} -> {}", old_one.verdict,
                                         paint(one.verdict == "holds" ? "32" : "1;31", one.verdict)));
      }
      if (change.margin) {
        std::string words = fmt::format("margin {} -> {}", quantity(old_one.margin, old_one.unit, true),
                                        quantity(one.margin, one.unit, true));
        if (old_one.margin && one.margin)
          words += fmt::format(" (by {})", quantity(*one.margin - *old_one.margin, one.unit, true));
        rest.push_back(words + (one.margin ? ", least at " + one.time : ""));
      }
      if (change.limit) {
        rest.push_back(
            fmt::format("limit {} -> {}{}", quantity(old_one.limit, old_one.unit, false),
                        quantity(one.limit, one.unit, false),
                        one.limit_source.file.empty()
                            ? ""
                            : fmt::format(", {}:{}", one.limit_source.file, one.limit_source.line)));
      }
      row('~', name, rest);
    }
  }

  void value(const ValueDifference& change) {
    const char sign = change.before.empty() ? '+' : change.after.empty() ? '-' : '~';
    row(sign, change.what,
        {change.before.empty()  ? change.after
         : change.after.empty() ? change.before
                                : change.before + " -> " + change.after,
         change.place.file.empty() ? "" : fmt::format("{}:{}", change.place.file, change.place.line)});
  }

  void values(std::string_view words, const std::vector<ValueDifference>& changes) {
    if (changes.empty()) return;
    heading(words);
    for (const ValueDifference& change : changes) value(change);
  }

  // Rising numbers: "1 to 4, 7".
  static std::string ranges(std::vector<std::size_t> numbers) {
    std::sort(numbers.begin(), numbers.end());
    std::string out;
    for (std::size_t i = 0; i < numbers.size();) {
      std::size_t last = i;
      while (last + 1 < numbers.size() && numbers[last + 1] == numbers[last] + 1) ++last;
      out += (i > 0 ? ", " : "") +
             (last == i ? std::to_string(numbers[i]) : fmt::format("{} to {}", numbers[i], numbers[last]));
      i = last + 1;
    }
    return out;
  }

  // ", part 2" of a window that carries several batches.
  static std::string part_of(const std::string& name) {
    const std::size_t at = name.rfind(", part ");
    return at == std::string::npos ? std::string() : name.substr(at);
  }

  void windows() {
    if (difference_.windows.empty()) return;
    heading("Windows and batches");
    for (const WindowDifference& change : difference_.windows) {
      const ReviewedWindow none;
      const ReviewedWindow& old_one = change.before ? before_.windows[*change.before] : none;
      const ReviewedWindow& new_one = change.after ? after_.windows[*change.after] : none;
      const ReviewedWindow& one = change.after ? new_one : old_one;
      std::vector<std::string> rest;
      if (change.closes) rest.push_back(fmt::format("closes {} -> {}", old_one.closes, new_one.closes));
      if (old_one.file.empty() && !new_one.file.empty()) rest.emplace_back("it carries a batch now");
      if (!old_one.file.empty() && new_one.file.empty()) rest.emplace_back("it carries no batch any more");
      if (old_one.commands.size() != new_one.commands.size())
        rest.push_back(fmt::format("{} -> {} commands", old_one.commands.size(), new_one.commands.size()));
      if (old_one.bytes != new_one.bytes)
        rest.push_back(fmt::format("{} -> {} bytes", old_one.bytes, new_one.bytes));
      if (!change.left.empty()) rest.push_back("without old " + ranges(change.left));
      if (!change.joined.empty()) rest.push_back("with new " + ranges(change.joined));
      if (change.bytes && change.left.empty() && change.joined.empty())
        rest.emplace_back("the same commands, other bytes");
      row(!change.before  ? '+'
          : !change.after ? '-'
                          : '~',
          fmt::format("{} {}{}", one.antenna, one.opens, part_of(one.name)), rest);
    }
  }

  void inputs() {
    if (difference_.inputs.empty()) return;
    heading("What went in");
    for (const InputDifference& input : difference_.inputs) {
      const bool both = !input.old_sha256.empty() && !input.new_sha256.empty();
      const char sign = both ? '~' : input.old_sha256.empty() ? '+' : '-';
      row(sign, input.name,
          {both && !input.texts
               ? "its texts were not found; name their folders with --old-sources and --new-sources"
               : ""});
      for (const LineDifference& run : input.lines) {
        out_ += fmt::format("      line {}{}\n", run.new_lines.empty() ? run.old_first : run.new_first,
                            run.within.empty() ? "" : ", in " + run.within);
        for (const std::string& line : run.old_lines)
          out_ += fmt::format("      {} {}\n", paint("31", "-"), line);
        for (const std::string& line : run.new_lines)
          out_ += fmt::format("      {} {}\n", paint("32", "+"), line);
      }
    }
  }

  const Difference& difference_;
  const ReviewedPlan& before_;
  const ReviewedPlan& after_;
  const DifferenceStyle& style_;
  std::string out_;
};

}  // namespace

std::string difference_text(const Difference& difference, const ReviewedPlan& before,
                            const ReviewedPlan& after, const DifferenceStyle& style) {
  return Text(difference, before, after, style).all();
}

}  // namespace cairn
