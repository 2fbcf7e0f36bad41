// The one door to SQLite.

#include "compiler/review/ledger/ledger.h"

#include <sqlite3.h>

#include <algorithm>
#include <map>
#include <tuple>

namespace cairn {

namespace {

// What a plan's row has, in the order of LedgerRow.
constexpr const char* plans_table =
    "CREATE TABLE IF NOT EXISTS plans ("
    " digest TEXT PRIMARY KEY NOT NULL, station TEXT NOT NULL, load TEXT NOT NULL, begin TEXT NOT NULL,"
    " previous TEXT NOT NULL, state INTEGER NOT NULL CHECK (state BETWEEN 0 AND 2),"
    " entries INTEGER NOT NULL, next_sequence_count INTEGER NOT NULL) STRICT;";
// Version 2. A ledger of version 1 gets it with its first announcement.
constexpr const char* announced_table =
    "CREATE TABLE IF NOT EXISTS announced ("
    " digest TEXT NOT NULL, station TEXT NOT NULL, load TEXT NOT NULL, begin TEXT NOT NULL,"
    " previous TEXT NOT NULL, state INTEGER NOT NULL CHECK (state BETWEEN 0 AND 2),"
    " entries INTEGER NOT NULL, next_sequence_count INTEGER NOT NULL, folder TEXT NOT NULL,"
    " PRIMARY KEY (digest, folder)) STRICT;"
    "PRAGMA user_version = 2;";
constexpr int version = 2;

// A state only grows: what was sent stays sent when the same plan is built again.
constexpr const char* insert_plan =
    "INSERT INTO plans VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)"
    " ON CONFLICT (digest) DO UPDATE SET state = max(state, excluded.state);";
constexpr const char* insert_announced =
    "INSERT INTO announced VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)"
    " ON CONFLICT DO NOTHING;";

struct Announced {
  LedgerRow row;
  std::string folder;
};

std::string text_at(sqlite3_stmt* statement, int at) {
  // As octets; the column's type is held by the table.
  const void* octets = sqlite3_column_blob(statement, at);
  const auto size = static_cast<std::size_t>(sqlite3_column_bytes(statement, at));
  return octets == nullptr ? std::string() : std::string(static_cast<const char*>(octets), size);
}

void bind_text(sqlite3_stmt* statement, int at, const std::string& text) {
  sqlite3_bind_text(statement, at, text.data(), static_cast<int>(text.size()), nullptr);
}

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
  using Done = Ledger::Done;
  sqlite3* database = nullptr;
  Handle() = default;
  Handle(const Handle&) = delete;
  Handle& operator=(const Handle&) = delete;
  ~Handle() { sqlite3_close(database); }

  [[nodiscard]] std::unexpected<std::string> problem() const {
    return std::unexpected(std::string(sqlite3_errmsg(database)));
  }

  [[nodiscard]] Done run(const char* text) const {
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

  // `text` has the members of a row as its parameters, and the folder as the last one, if it has that.
  [[nodiscard]] Done insert(const char* text, const LedgerRow& row,
                            const std::string* folder = nullptr) const {
    sqlite3_stmt* statement = nullptr;
    if (sqlite3_prepare_v2(database, text, -1, &statement, nullptr) != SQLITE_OK) return problem();
    int at = 0;
    for (const std::string* value : {&row.digest, &row.station, &row.load, &row.begin, &row.previous})
      bind_text(statement, ++at, *value);
    sqlite3_bind_int(statement, ++at, static_cast<int>(row.state));
    sqlite3_bind_int64(statement, ++at, static_cast<sqlite3_int64>(row.entries));
    sqlite3_bind_int64(statement, ++at, row.next_sequence_count);
    if (folder != nullptr) bind_text(statement, ++at, *folder);
    const int step = sqlite3_step(statement);
    sqlite3_finalize(statement);
    if (step != SQLITE_DONE) return problem();
    return {};
  }

  // Whether there can be announcements at all.
  [[nodiscard]] std::expected<bool, std::string> has_announced() const {
    const auto found =
        number("SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = 'announced';");
    if (!found) return std::unexpected(found.error());
    return *found != 0;
  }

  // Rows of both kinds at one moment; those of plans have no folder.
  [[nodiscard]] std::expected<std::vector<Announced>, std::string> all(bool announced_only) const {
    const auto has = has_announced();
    if (!has) return std::unexpected(has.error());
    const char* text = "SELECT *, '' FROM plans;";
    if (*has) text = "SELECT *, '' FROM plans UNION ALL SELECT * FROM announced;";
    if (announced_only) text = "SELECT * FROM announced;";
    if (announced_only && !*has) return std::vector<Announced>{};
    sqlite3_stmt* statement = nullptr;
    if (sqlite3_prepare_v2(database, text, -1, &statement, nullptr) != SQLITE_OK) return problem();
    std::vector<Announced> found;
    int step = SQLITE_ROW;
    while ((step = sqlite3_step(statement)) == SQLITE_ROW) {
      Announced one;
      LedgerRow& row = one.row;
      int at = 0;
      for (std::string* value : {&row.digest, &row.station, &row.load, &row.begin, &row.previous})
        *value = text_at(statement, at++);
      row.state = static_cast<LedgerState>(sqlite3_column_int(statement, at++));
      row.entries = static_cast<std::uint64_t>(sqlite3_column_int64(statement, at++));
      row.next_sequence_count = static_cast<std::uint32_t>(sqlite3_column_int64(statement, at++));
      one.folder = text_at(statement, at);
      found.push_back(std::move(one));
    }
    sqlite3_finalize(statement);
    if (step != SQLITE_DONE) return problem();
    return found;
  }

  // All of `work` or nothing.
  [[nodiscard]] Done transaction(const std::function<Done()>& work) const {
    if (auto begun = run("BEGIN IMMEDIATE;"); !begun) return begun;
    auto done = work();
    if (done) done = run("COMMIT;");
    if (!done) (void)run("ROLLBACK;");
    return done;
  }
};

Ledger::Ledger(std::unique_ptr<Handle> handle, Holds holds)
    : handle_(std::move(handle)), holds_(std::move(holds)) {}
Ledger::Ledger(Ledger&&) noexcept = default;
Ledger& Ledger::operator=(Ledger&&) noexcept = default;
Ledger::~Ledger() = default;

std::expected<Ledger, std::string> Ledger::open(const std::string& path, Holds holds) {
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
    const auto made = handle->transaction([&]() -> Done {
      const auto others = handle->number("SELECT count(*) FROM sqlite_master;");
      if (!others) return std::unexpected(others.error());
      if (*others != 0) return std::unexpected(std::string("it is a database of another program"));
      if (auto good = handle->run(plans_table); !good) return good;
      return handle->run(announced_table);
    });
    if (!made) return std::unexpected(made.error());
  }
  return Ledger(std::move(handle), std::move(holds));
}

Ledger::Done Ledger::settle() {
  const auto open = handle_->all(true);
  if (!open) return std::unexpected(open.error());
  for (const Announced& one : *open) {
    if (!holds_(one.folder, one.row.digest)) continue;
    if (auto good = handle_->insert(insert_plan, one.row); !good) return good;
  }
  return open->empty() ? Done{} : handle_->run("DELETE FROM announced;");
}

// Whether it was there.
std::expected<bool, std::string> Ledger::strike_out(const LedgerRow& row, const std::string& folder) {
  sqlite3_stmt* statement = nullptr;
  if (sqlite3_prepare_v2(handle_->database, "DELETE FROM announced WHERE digest = ?1 AND folder = ?2;", -1,
                         &statement, nullptr) != SQLITE_OK) {
    return handle_->problem();
  }
  bind_text(statement, 1, row.digest);
  bind_text(statement, 2, folder);
  const int step = sqlite3_step(statement);
  sqlite3_finalize(statement);
  if (step != SQLITE_DONE) return handle_->problem();
  return sqlite3_changes(handle_->database) != 0;
}

Ledger::Done Ledger::record(const LedgerRow& row) {
  return handle_->transaction([&]() -> Done {
    if (auto good = settle(); !good) return good;
    return handle_->insert(insert_plan, row);
  });
}

Ledger::Done Ledger::record_with(const LedgerRow& row, const std::string& folder,
                                 const std::function<Done()>& put) {
  constexpr int most_tries = 100;
  for (int tries = 0; tries < most_tries; ++tries) {
    const Done announced = handle_->transaction([&]() -> Done {
      if (auto good = handle_->run(announced_table); !good) return good;
      if (auto good = settle(); !good) return good;
      return handle_->insert(insert_announced, row, &folder);
    });
    if (!announced) return announced;
    // Nobody can strike it out while this transaction is open. Before that somebody may have.
    bool is_gone = false;
    const Done done = handle_->transaction([&]() -> Done {
      const auto was_there = strike_out(row, folder);
      if (!was_there) return std::unexpected(was_there.error());
      is_gone = !*was_there;
      if (is_gone) return {};
      if (auto good = handle_->insert(insert_plan, row); !good) return good;
      return put();
    });
    if (is_gone && done) continue;
    // What was put by then counts, the announcement being back; what was not is struck out, now or later.
    if (!done) (void)handle_->transaction([&] { return settle(); });
    return done;
  }
  return std::unexpected(std::string("others write to it all the time"));
}

Ledger::Done Ledger::rebuild(const std::vector<LedgerRow>& rows) {
  return handle_->transaction([&]() -> Done {
    const auto has = handle_->has_announced();
    if (!has) return std::unexpected(has.error());
    if (auto good = handle_->run(*has ? "DELETE FROM plans; DELETE FROM announced;" : "DELETE FROM plans;");
        !good) {
      return good;
    }
    for (const LedgerRow& row : rows) {
      if (auto good = handle_->insert(insert_plan, row); !good) return good;
    }
    return {};
  });
}

std::expected<std::vector<LedgerRow>, std::string> Ledger::rows() const {
  auto all = handle_->all(false);
  if (!all) return std::unexpected(all.error());
  std::map<std::string, LedgerRow> by_digest;  // plans come first
  for (Announced& one : *all) {
    if (one.folder.empty() || holds_(one.folder, one.row.digest))
      by_digest.emplace(one.row.digest, std::move(one.row));
  }
  std::vector<LedgerRow> rows;
  rows.reserve(by_digest.size());
  for (auto& [digest, row] : by_digest) rows.push_back(std::move(row));
  std::stable_sort(rows.begin(), rows.end(), [](const LedgerRow& a, const LedgerRow& b) {
    return std::tie(a.station, a.begin) < std::tie(b.station, b.begin);
  });
  return rows;
}

}  // namespace cairn
