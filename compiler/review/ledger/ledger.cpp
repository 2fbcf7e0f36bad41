// The one door to SQLite.

#include "compiler/review/ledger/ledger.h"

#include <sqlite3.h>

namespace cairn {

namespace {

constexpr const char* schema =
    "CREATE TABLE IF NOT EXISTS plans ("
    " digest TEXT PRIMARY KEY NOT NULL, station TEXT NOT NULL, load TEXT NOT NULL, begin TEXT NOT NULL,"
    " previous TEXT NOT NULL, state INTEGER NOT NULL CHECK (state BETWEEN 0 AND 2),"
    " entries INTEGER NOT NULL, next_sequence_count INTEGER NOT NULL) STRICT;";
constexpr int version = 1;

}  // namespace

std::string_view to_word(LedgerState state) {
  switch (state) {
    case LedgerState::Built:
      return "built";
    case LedgerState::Approved:
      return "approved";
    case LedgerState::Sent:
      return "sent";
  }
  return {};
}

std::optional<LedgerState> ledger_state(std::string_view word) {
  for (const LedgerState state : {LedgerState::Built, LedgerState::Approved, LedgerState::Sent}) {
    if (to_word(state) == word) return state;
  }
  return std::nullopt;
}

struct Ledger::Handle {
  sqlite3* database = nullptr;
  Handle() = default;
  Handle(const Handle&) = delete;
  Handle& operator=(const Handle&) = delete;
  ~Handle() { sqlite3_close(database); }

  [[nodiscard]] std::unexpected<std::string> problem() const {
    return std::unexpected(std::string(sqlite3_errmsg(database)));
  }

  [[nodiscard]] std::expected<void, std::string> run(const char* text) const {
    if (sqlite3_exec(database, text, nullptr, nullptr, nullptr) != SQLITE_OK) return problem();
    return {};
  }

  [[nodiscard]] std::expected<int, std::string> number(const char* text) const {
    sqlite3_stmt* statement = nullptr;
    if (sqlite3_prepare_v2(database, text, -1, &statement, nullptr) != SQLITE_OK) return problem();
    const int step = sqlite3_step(statement);
    const int value = step == SQLITE_ROW ? sqlite3_column_int(statement, 0) : 0;
    sqlite3_finalize(statement);
    if (step != SQLITE_ROW && step != SQLITE_DONE) return problem();
    return value;
  }

  [[nodiscard]] std::expected<void, std::string> insert(const LedgerRow& row) const {
    // A state only grows: what was sent stays sent when the same plan is built again.
    constexpr const char* text =
        "INSERT INTO plans VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)"
        " ON CONFLICT (digest) DO UPDATE SET state = max(state, excluded.state);";
    sqlite3_stmt* statement = nullptr;
    if (sqlite3_prepare_v2(database, text, -1, &statement, nullptr) != SQLITE_OK) return problem();
    int at = 0;
    for (const std::string* value : {&row.digest, &row.station, &row.load, &row.begin, &row.previous}) {
      sqlite3_bind_text(statement, ++at, value->data(), static_cast<int>(value->size()), nullptr);
    }
    sqlite3_bind_int(statement, ++at, static_cast<int>(row.state));
    sqlite3_bind_int64(statement, ++at, static_cast<sqlite3_int64>(row.entries));
    sqlite3_bind_int64(statement, ++at, row.next_sequence_count);
    const int step = sqlite3_step(statement);
    sqlite3_finalize(statement);
    if (step != SQLITE_DONE) return problem();
    return {};
  }

  // All of `work` or nothing.
  [[nodiscard]] std::expected<void, std::string> transaction(
      const std::function<std::expected<void, std::string>()>& work) const {
    if (auto begun = run("BEGIN IMMEDIATE;"); !begun) return begun;
    auto done = work();
    if (done) done = run("COMMIT;");
    if (!done) (void)run("ROLLBACK;");
    return done;
  }
};

Ledger::Ledger(std::unique_ptr<Handle> handle) : handle_(std::move(handle)) {}
Ledger::Ledger(Ledger&&) noexcept = default;
Ledger& Ledger::operator=(Ledger&&) noexcept = default;
Ledger::~Ledger() = default;

std::expected<Ledger, std::string> Ledger::open(const std::string& path) {
  auto handle = std::make_unique<Handle>();
  if (sqlite3_open_v2(path.c_str(), &handle->database, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, nullptr) !=
      SQLITE_OK) {
    return handle->problem();
  }
  sqlite3_busy_timeout(handle->database, 5000);
  // The journal is on disk before the book changes, and the book before the journal goes.
  if (auto good = handle->run("PRAGMA journal_mode = DELETE; PRAGMA synchronous = FULL;"); !good) {
    return std::unexpected(good.error());
  }
  const auto found = handle->number("PRAGMA user_version;");
  if (!found) return std::unexpected(found.error());
  if (*found > version) return std::unexpected(std::string("a later version of Cairn wrote it"));
  if (*found == 0) {
    const auto made = handle->transaction([&]() -> std::expected<void, std::string> {
      const auto others = handle->number("SELECT count(*) FROM sqlite_master;");
      if (!others) return std::unexpected(others.error());
      if (*others != 0) return std::unexpected(std::string("it is a database of another program"));
      if (auto good = handle->run(schema); !good) return good;
      return handle->run("PRAGMA user_version = 1;");
    });
    if (!made) return std::unexpected(made.error());
  }
  return Ledger(std::move(handle));
}

std::expected<void, std::string> Ledger::record(const LedgerRow& row) {
  return handle_->transaction([&] { return handle_->insert(row); });
}

std::expected<void, std::string> Ledger::rebuild(const std::vector<LedgerRow>& rows) {
  return handle_->transaction([&]() -> std::expected<void, std::string> {
    if (auto good = handle_->run("DELETE FROM plans;"); !good) return good;
    for (const LedgerRow& row : rows) {
      if (auto good = handle_->insert(row); !good) return good;
    }
    return {};
  });
}

std::expected<std::vector<LedgerRow>, std::string> Ledger::rows() const {
  constexpr const char* text =
      "SELECT digest, station, load, begin, previous, state, entries, next_sequence_count FROM plans"
      " ORDER BY station, begin, digest;";
  sqlite3_stmt* statement = nullptr;
  if (sqlite3_prepare_v2(handle_->database, text, -1, &statement, nullptr) != SQLITE_OK)
    return handle_->problem();
  std::vector<LedgerRow> rows;
  int step = SQLITE_ROW;
  while ((step = sqlite3_step(statement)) == SQLITE_ROW) {
    LedgerRow row;
    int at = 0;
    for (std::string* value : {&row.digest, &row.station, &row.load, &row.begin, &row.previous}) {
      // Text as octets; the column's type is held by the table.
      const void* octets = sqlite3_column_blob(statement, at);
      const auto size = static_cast<std::size_t>(sqlite3_column_bytes(statement, at));
      if (octets != nullptr) value->assign(static_cast<const char*>(octets), size);
      ++at;
    }
    row.state = static_cast<LedgerState>(sqlite3_column_int(statement, at++));
    row.entries = static_cast<std::uint64_t>(sqlite3_column_int64(statement, at++));
    row.next_sequence_count = static_cast<std::uint32_t>(sqlite3_column_int64(statement, at));
    rows.push_back(std::move(row));
  }
  sqlite3_finalize(statement);
  if (step != SQLITE_DONE) return handle_->problem();
  return rows;
}

}  // namespace cairn
