// A small book beside the plans: which were built, approved and sent, in order, and what the table should
// hold after each.
//
// One SQLite file. Every change is one transaction, so that it is there whole or not at all. Nothing stands
// in it that the plans do not say: a lost or damaged ledger is rebuilt from them.

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
  // Opens the file, or makes it. The error is one sentence; a damaged file is one.
  static std::expected<Ledger, std::string> open(const std::string& path);
  Ledger(Ledger&&) noexcept;
  Ledger& operator=(Ledger&&) noexcept;
  ~Ledger();

  // Adds the plan, or moves it on; a plan never goes back from sent to built.
  std::expected<void, std::string> record(const LedgerRow& row);
  // All rows for all plans, in one transaction: what was there goes.
  std::expected<void, std::string> rebuild(const std::vector<LedgerRow>& rows);
  // By station, then begin, then digest.
  std::expected<std::vector<LedgerRow>, std::string> rows() const;

 private:
  struct Handle;
  explicit Ledger(std::unique_ptr<Handle> handle);
  std::unique_ptr<Handle> handle_;
};

}  // namespace cairn
