// The semantic difference of two plans: what runs otherwise, what the checks say otherwise, and which files
// made it so.
//
// A difference *matters* when something else would happen at the station, go up, or be answered by a check.
// Numbers that only shift, blocks that only get another name, comments in a source and lines that move do not
// matter; they are counted or named, but never make two plans different.

#pragma once

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "compiler/review/reviewed_plan.h"

namespace cairn {

// One command of either plan, or one of both; indices into the plans' lists.
struct CommandDifference {
  std::optional<std::size_t> before;
  std::optional<std::size_t> after;
  bool moved = false;      // it runs at another time
  bool reargued = false;   // it has other values
  bool redefined = false;  // the dictionary gives it another number, class, or raw form
  bool restaged = false;   // it goes up in another window
  bool renoted = false;    // it has other notes
  Duration shift;          // of a moved one

  [[nodiscard]] bool matters() const { return !before || !after || moved || reargued || redefined; }
};

struct CheckDifference {
  std::optional<std::size_t> before;
  std::optional<std::size_t> after;
  bool verdict = false;
  bool margin = false;
  bool limit = false;  // its value, not the line where it stands
};

struct WindowDifference {
  std::optional<std::size_t> before;
  std::optional<std::size_t> after;
  bool closes = false;
  std::vector<std::size_t> joined;  // numbers in the new plan that its batch carries now
  std::vector<std::size_t> left;    // numbers in the old plan that it carries no longer
  bool bytes = false;               // its batch has other octets
};

// One thing with a value on each side; an empty one is not there.
struct ValueDifference {
  std::string what;
  std::string before;
  std::string after;
  Place place = {};  // where it stands (before, when it is there no longer); where that is known
};

// A run of lines that differ: lines [first, first + count) of each side; the texts are those lines.
struct LineDifference {
  std::size_t old_first = 0;
  std::size_t new_first = 0;
  std::vector<std::string> old_lines;
  std::vector<std::string> new_lines;
  std::string within;  // where in the file: "units.camera.commands.expose", `load "evening"`
};

struct InputDifference {
  std::string name;
  std::string old_sha256;  // empty: it was not there
  std::string new_sha256;
  bool texts = false;  // both texts were found, so `lines` is the whole of it
  std::vector<LineDifference> lines;
};

struct Difference {
  std::vector<ValueDifference> head;        // station, span, previous plan: all matter
  std::vector<CommandDifference> commands;  // those that matter or are restaged or renoted, by time
  std::size_t same = 0;                     // of these two, the rest of the pairs
  std::size_t renumbered = 0;               // only their numbers or sequence counts differ
  std::vector<std::pair<std::string, std::string>> renamed_blocks;
  std::vector<CheckDifference> checks;  // worst first
  std::vector<WindowDifference> windows;
  std::vector<ValueDifference> table;
  std::vector<ValueDifference> end_state;
  std::vector<ValueDifference> marks;
  std::vector<ValueDifference> waivers;  // all matter: what they accept is not looked at any more
  std::vector<ValueDifference> rules;    // by their text, where it was found: the lines that differ
  std::vector<InputDifference> inputs;

  [[nodiscard]] bool matters() const;
};

// The text of an input of one of the plans, by name and digest; nullopt when it cannot be had.
using FindText =
    std::function<std::optional<std::string>(const std::string& name, const std::string& sha256)>;

Difference compare_plans(const ReviewedPlan& before, const ReviewedPlan& after, const FindText& find_text);

// The lines that differ, fewest possible; of texts longer than `line_limit` lines in their differing part one
// run.
inline constexpr std::size_t line_limit = 4000;
std::vector<LineDifference> compare_lines(const std::string& before, const std::string& after);

// ---- views ----

struct DifferenceStyle {
  bool colour = false;
  int width = 100;
};
std::string difference_text(const Difference& difference, const ReviewedPlan& before,
                            const ReviewedPlan& after, const DifferenceStyle& style);
// Canonical JSON, one line; docs/difference-format.md tells of it.
std::string difference_json(const Difference& difference, const ReviewedPlan& before,
                            const ReviewedPlan& after);

}  // namespace cairn
