// One pass of expansion: a discrete-event run of the load's blocks.
//
// Every block of the load's body is a cursor with a time of its own; the cursor with the earliest time always
// runs next, so that the state tracker meets all commands in time order whatever their order in the file.
// When a time hangs on the end of another block the pass is repeated with the ends that the last pass found.

#pragma once

#include <map>
#include <memory>
#include <queue>
#include <set>

#include "compiler/meaning/program.h"
#include "compiler/sequence/sequence.h"
#include "constraints/timeline/state_tracker.h"

namespace cairn {

struct BlockTimes {
  Instant start;
  Instant end;
  friend bool operator==(const BlockTimes&, const BlockTimes&) = default;
};
using BlockTable = std::map<std::string, BlockTimes, std::less<>>;

// Solves marks that hang on the sky, the windows and the blocks.
class MarkFinder {
 public:
  MarkFinder(const Program& program, Instant begin, Instant end, const BlockTable& known)
      : program_(&program), begin_(begin), end_(end), known_(&known) {}
  Value solve(const Binding& mark, Evaluator& evaluator, Scope& load_scope);
  // All times in the span, rising, of a `for each`; nullopt when there is none (which is reported), or
  // (`is_pending`) when one of its bounds hangs on a block that has not run yet.
  std::optional<std::vector<Instant>> all(std::uint32_t tree, const MarkSource& source, Scope& scope,
                                          Evaluator& evaluator, bool& is_pending);
  [[nodiscard]] bool consulted_blocks() const { return consulted_blocks_; }

 private:
  struct Crossed {
    SkyQuantity quantity;
    std::string name;
    double level = 0;  // rad
    std::vector<Instant> times;
  };
  std::optional<Crossed> crossed(std::uint32_t tree, const MarkSource& source, Scope& scope,
                                 Evaluator& evaluator);
  std::optional<AntennaId> named_antenna(const MarkSource& source, Evaluator& evaluator) const;
  [[nodiscard]] std::vector<Instant> edges(AntennaId antenna, bool opens) const;
  Value crossing(const Binding& mark, Evaluator& evaluator);
  Value window(const Binding& mark, Evaluator& evaluator);
  Value block(const Binding& mark, Evaluator& evaluator, Scope& load_scope);
  struct TimeChoice {
    Value value;        // an error when there is none
    bool said = false;  // why not has been reported
    std::string words;  // " 3 times", " after 2031-..."
  };
  TimeChoice choose(const Binding& mark, const std::vector<Instant>& times, std::int64_t number,
                    Evaluator& evaluator) const;
  static std::string times_in_words(const std::vector<Instant>& times, const Evaluator& evaluator);
  [[nodiscard]] std::string windows_in_words(AntennaId antenna, const Evaluator& evaluator) const;
  std::optional<std::int64_t> occurrence(const Binding& mark, Evaluator& evaluator);

  const Program* program_;
  Instant begin_;
  Instant end_;
  const BlockTable* known_;
  bool consulted_blocks_ = false;
  std::unique_ptr<Sky> sky_;
};

class Expander {
 public:
  Expander(const Program& program, const StartState& start, const SequenceLimits& limits, Instant begin,
           Instant end, const BlockTable& known, Diagnostics& diagnostics);

  void run(SequencedLoad& load);
  [[nodiscard]] const BlockTable& found_blocks() const { return found_; }
  [[nodiscard]] bool is_pending() const { return pending_.is_valid(); }
  [[nodiscard]] Span pending_place() const { return pending_; }
  [[nodiscard]] bool consulted_blocks() const { return marks_.consulted_blocks(); }

 private:
  // Where commands come from; shared by all commands of a block.
  struct Setting {
    std::string block;
    std::vector<std::string> notes;
    std::vector<Span> calls;
    bool approximate = false;
  };
  using SettingRef = std::shared_ptr<const Setting>;

  enum class FrameKind : std::uint8_t { List, Every, Turns, Bring, Wait };
  struct Frame {
    FrameKind kind = FrameKind::List;
    std::uint32_t tree = 0;
    StatementId statement;  // List: the next one; otherwise the statement itself
    bool single = false;    // List: only this one statement
    Scope* scope = nullptr;
    SettingRef setting;
    Instant now;
    std::string name;                 // of the block, when it has one
    Instant until;                    // Every: last instant
    Duration step;                    // Every
    std::int64_t turns = 0;           // Turns: how many there are
    std::vector<TimedCommand> chain;  // Bring
    std::size_t next = 0;             // Bring, Turns
    Instant chain_end;                // Bring
  };
  struct Cursor {
    std::vector<Frame> frames;
    Instant key;
    std::uint32_t root = 0;  // top-level statement it belongs to
    std::size_t parent = SIZE_MAX;
    std::size_t children = 0;
    bool asleep = false;
    std::size_t last_command = SIZE_MAX;  // sent by this cursor
    Instant children_end;
  };

  std::size_t start_cursor(Frame frame, std::uint32_t root, std::size_t parent);
  void wake(std::size_t cursor, Instant key);
  void step(std::size_t cursor);
  bool step_list(std::size_t cursor);
  bool step_every(std::size_t cursor);
  bool step_turns(std::size_t cursor);
  bool step_bring(std::size_t cursor);
  bool step_wait(std::size_t cursor);
  void end_frame(std::size_t cursor, Instant at);
  bool statement(std::size_t cursor, const Statement& what);
  bool send(std::size_t cursor, const Statement& what);
  bool bring(std::size_t cursor, const Statement& what);
  void call(std::size_t cursor, const Statement& what);
  void at_block(std::size_t cursor, const Statement& what);
  void after_block(std::size_t cursor, const Statement& what);
  void every_block(std::size_t cursor, const Statement& what);
  void together(std::size_t cursor, const Statement& what);
  void turns_block(std::size_t cursor, const Statement& what);
  void choice(std::size_t cursor, const Statement& what);
  // stated.cpp: what the load says about itself
  void state_rules();
  void require_over_span(const Statement& what, Scope& scope);
  void require_now(std::size_t cursor, const Statement& what);
  void expect(std::size_t cursor, const Statement& what);
  void waive(std::uint32_t tree, const Statement& what, Scope& scope);
  bool is_check(const Waiver& waiver) const;
  void add_rule(RuleNodeId node, StatedRule stated);
  // How often the body of `for each` or `repeat` runs; nullopt when it cannot be said.
  // In `each_times_`: of a `for each` over windows or crossings.
  bool find_times(std::uint32_t tree, const Statement& what, Scope& scope);
  std::optional<std::int64_t> turns_of(std::uint32_t tree, const Statement& what, Scope& scope);
  // The block of an `if` that is chosen, `Then` or `Else`; invalid when there is none.
  StatementId chosen(std::uint32_t tree, const Statement& what, Scope& scope);
  Scope& turn_scope(std::uint32_t tree, const Statement& what, std::int64_t turn, Scope& outer);
  void start_roots(StatementId first, Scope& scope, const SettingRef& setting);
  void mend_part(DiagnosticBuilder& builder, UnitId unit, const PathName& path) const;
  void report_no_path(const Statement& what, PartId part, StateId goal, Instant now);
  // The earliest time a command may run because of those before it, and which that was.
  struct Room {
    Instant earliest;
    std::size_t neighbour = SIZE_MAX;
    Duration needed;
  };
  Room room_for(CommandId command) const;
  // False when it was moved to a later time (and `time` says which).
  bool place(std::size_t cursor, const TimedCommand& command, const Statement& what, bool by_bring,
             Instant& time);
  bool count_step(Span place);
  void note_pending(Span place) { pending_ = place; }
  SettingRef inside(const SettingRef& outer, std::uint32_t tree, const Statement& block);
  void add_notes(Setting& setting, std::uint32_t tree, StatementId first);
  [[nodiscard]] std::string utc(Instant time) const;
  [[nodiscard]] const Tree& tree(std::uint32_t index) const { return (*program_->trees)[index]; }
  [[nodiscard]] const Station& station() const { return program_->station->station; }

  const Program* program_;
  const SequenceLimits* limits_;
  Instant begin_;
  Instant end_;
  Diagnostics* diagnostics_;
  MarkFinder marks_;
  Evaluator evaluator_;
  Scope* load_scope_ = nullptr;
  StateTracker tracker_;
  BlockTable found_;
  Span pending_;
  SequencedLoad* load_ = nullptr;
  std::vector<Cursor> cursors_;
  std::vector<std::size_t> free_;
  using Key = std::tuple<Instant, std::uint32_t, std::uint64_t, std::size_t>;
  std::priority_queue<Key, std::vector<Key>, std::greater<>> queue_;
  std::map<CommandId, std::size_t> last_of_;
  std::map<std::pair<const Statement*, const Scope*>, std::vector<Instant>> each_times_;
  std::vector<std::uint64_t> order_;  // by cursor: when it was made
  std::uint64_t made_ = 0;
  std::size_t steps_ = 0;
  std::uint32_t roots_ = 0;
  bool stopped_ = false;
};

}  // namespace cairn
