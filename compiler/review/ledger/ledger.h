// A small book beside the plans: which were built, approved and sent, in order, and what the table should
// hold after each.
//
// One SQLite file. Every change is one transaction, so that it is there whole or not at all. Nothing stands
// in it that the plans do not say: a lost or damaged ledger is rebuilt from them.
//
// A plan and its folder come together: the plan is announced, its folder put in place while the book is held,
// and only then recorded. Who is stopped in between leaves the announcement; it counts as a record exactly
// when the folder holds that plan, and whoever writes next makes it one or strikes it out.

#pragma once

#include <cstdint>
#include <expected>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace cairn {

enum class LedgerState : std::uint8_t { Built, Approved, Sent };
std::string_view to_word(LedgerState state);
std::optional<LedgerState> ledger_state(std::string_view word);

struct LedgerRow {
  std::string digest;  // of plan.json, SHA-256
  std::string station;
  std::string load;
  std::string begin;     // of the span; UTC, so that text order is time order
  std::string previous;  // digest of the plan before; empty: none
  LedgerState state = LedgerState::Built;
  std::uint64_t entries = 0;  // in the table at the end, as predicted
  std::uint32_t next_sequence_count = 0;
};

class Ledger {
 public:
  // Whether a folder holds the plan of that digest; folders are named as they were when announced.
  using Holds = std::function<bool(const std::string& folder, const std::string& digest)>;
  using Done = std::expected<void, std::string>;

  // Opens the file, or makes it. The error is one sentence; a damaged file is one.
  static std::expected<Ledger, std::string> open(const std::string& path, Holds holds);
  Ledger(Ledger&&) noexcept;
  Ledger& operator=(Ledger&&) noexcept;
  ~Ledger();

  // Adds the plan, or moves it on; a plan never goes back from sent to built.
  Done record(const LedgerRow& row);
  // The same for a plan whose folder is put in place by `put`: after a stop at any moment there are both or
  // neither. The error may be that of `put`; then nothing is recorded.
  Done record_with(const LedgerRow& row, const std::string& folder, const std::function<Done()>& put);
  // All rows for all plans, in one transaction: what was there goes.
  Done rebuild(const std::vector<LedgerRow>& rows);
  // By station, then begin, then digest.
  std::expected<std::vector<LedgerRow>, std::string> rows() const;

 private:
  struct Handle;
  Ledger(std::unique_ptr<Handle> handle, Holds holds);
  // Inside a transaction.
  Done settle();
  std::expected<bool, std::string> strike_out(const LedgerRow& row, const std::string& folder);
  std::unique_ptr<Handle> handle_;
  Holds holds_;
};

}  // namespace cairn
