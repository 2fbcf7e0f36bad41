// The ledger: what was recorded is there; killed at any write it is as before or complete.
//
// The killing: a child process records with the file system's writes counted by a layer put under SQLite, and
// ends itself at the n-th one; for every n until none is reached.

#include "compiler/review/ledger/ledger.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstring>
#include <filesystem>
#include <fstream>
#include <map>

namespace cairn {
namespace {

using ::testing::ElementsAre;

std::string fresh(const std::string& name) {
  const std::filesystem::path path =
      std::filesystem::path(testing::TempDir()) / (name + std::to_string(getpid()));
  std::filesystem::remove(path);
  std::filesystem::remove(path.string() + "-journal");
  return path.string();
}

// The folders that are announced here are never there.
bool holds_nothing(const std::string&, const std::string&) { return false; }

auto opened(const std::string& path) { return Ledger::open(path, holds_nothing); }

LedgerRow row_of(const std::string& digest, LedgerState state) {
  return {digest, "alder", "alder-41", "2031-05-10T00:00:00Z", "", state, 12, 46};
}

TEST(Ledger, KeepsWhatIsRecorded) {
  const std::string path = fresh("ledger");
  {
    auto ledger = opened(path);
    ASSERT_TRUE(ledger) << ledger.error();
    ASSERT_TRUE(ledger->record(row_of("b", LedgerState::Built)));
    ASSERT_TRUE(ledger->record(row_of("a", LedgerState::Built)));
    ASSERT_TRUE(ledger->record(row_of("b", LedgerState::Sent)));
    ASSERT_TRUE(ledger->record(row_of("b", LedgerState::Built))) << "built again";
  }
  auto ledger = opened(path);
  ASSERT_TRUE(ledger);
  const auto rows = ledger->rows();
  ASSERT_TRUE(rows);
  ASSERT_EQ(rows->size(), 2U);
  EXPECT_EQ((*rows)[0].digest, "a");
  EXPECT_EQ((*rows)[1].digest, "b");
  EXPECT_EQ((*rows)[1].state, LedgerState::Sent) << "what was sent stays sent";
  EXPECT_EQ((*rows)[1].entries, 12U);
  EXPECT_EQ((*rows)[1].next_sequence_count, 46U);
  ASSERT_TRUE(ledger->rebuild({row_of("c", LedgerState::Approved)}));
  EXPECT_EQ(ledger->rows()->size(), 1U);
}

TEST(Ledger, DamagedAndForeignFilesAreRefused) {
  const std::string damaged = fresh("damaged");
  std::ofstream(damaged) << std::string(8192, 'x');
  EXPECT_FALSE(opened(damaged));
  const std::string foreign = fresh("foreign");
  sqlite3* database = nullptr;
  ASSERT_EQ(sqlite3_open(foreign.c_str(), &database), SQLITE_OK);
  ASSERT_EQ(sqlite3_exec(database, "CREATE TABLE other (a);", nullptr, nullptr, nullptr), SQLITE_OK);
  sqlite3_close(database);
  EXPECT_FALSE(opened(foreign));
  EXPECT_FALSE(opened("/nowhere/at/all/ledger"));
}

// The folder as a set of the digests that it holds.
struct Folders {
  std::map<std::string, std::string> digests;
  [[nodiscard]] Ledger open(const std::string& path) const {
    auto ledger = Ledger::open(path, [this](const std::string& folder, const std::string& digest) {
      const auto found = digests.find(folder);
      return found != digests.end() && found->second == digest;
    });
    EXPECT_TRUE(ledger) << ledger.error();
    return std::move(*ledger);
  }
};

std::vector<std::string> digests_in(const Ledger& ledger) {
  std::vector<std::string> digests;
  const auto rows = ledger.rows();
  EXPECT_TRUE(rows);
  if (rows) {
    for (const LedgerRow& row : *rows) digests.push_back(row.digest);
  }
  return digests;
}

TEST(Ledger, RecordsAPlanWithItsFolderOrNeither) {
  const std::string path = fresh("with-folder");
  Folders folders;
  Ledger ledger = folders.open(path);
  const auto put = [&]() -> Ledger::Done {
    folders.digests["out"] = "a";
    return {};
  };
  ASSERT_TRUE(ledger.record_with(row_of("a", LedgerState::Built), "out", put));
  EXPECT_THAT(digests_in(ledger), ElementsAre("a"));
  const auto refused = ledger.record_with(row_of("b", LedgerState::Built), "out", []() -> Ledger::Done {
    return std::unexpected(std::string("the disk is full"));
  });
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error(), "the disk is full");
  EXPECT_THAT(digests_in(ledger), ElementsAre("a"));
  folders.digests["out"] = "b";  // by other hands; the announcement is gone
  EXPECT_THAT(digests_in(ledger), ElementsAre("a"));
}

// Stopped while the folder is put in place: a child ends itself inside `put`.
TEST(Ledger, AnAnnouncementCountsExactlyWhenTheFolderHoldsThePlan) {
  for (const bool is_put : {false, true}) {
    const std::string path = fresh("announced");
    Folders folders;
    {
      Ledger ledger = folders.open(path);
      ASSERT_TRUE(ledger.record(row_of("old", LedgerState::Sent)));
    }
    const pid_t child = fork();
    ASSERT_GE(child, 0);
    if (child == 0) {
      Ledger ledger = folders.open(path);
      (void)ledger.record_with(row_of("new", LedgerState::Built), "out", []() -> Ledger::Done { _exit(77); });
      _exit(1);
    }
    int status = 0;
    ASSERT_EQ(waitpid(child, &status, 0), child);
    ASSERT_TRUE(WIFEXITED(status) && WEXITSTATUS(status) == 77);
    if (is_put) folders.digests["out"] = "new";
    Ledger ledger = folders.open(path);
    const std::vector<std::string> expected =
        is_put ? std::vector<std::string>{"new", "old"} : std::vector<std::string>{"old"};
    EXPECT_EQ(digests_in(ledger), expected);
    EXPECT_EQ(digests_in(ledger), expected) << "reading changes it";
    // Another plan in the same folder: what was there by then stays known, what was not stays unknown.
    ASSERT_TRUE(ledger.record_with(row_of("third", LedgerState::Built), "out", [&]() -> Ledger::Done {
      folders.digests["out"] = "third";
      return {};
    }));
    std::vector<std::string> whole = expected;
    whole.emplace_back("third");
    EXPECT_EQ(digests_in(ledger), whole);
  }
}

// A second process that opens the book between announcement and recording strikes nothing out for good.
TEST(Ledger, SomebodyElseMaySettleInBetween) {
  const std::string path = fresh("in-between");
  Folders folders;
  Ledger ledger = folders.open(path);
  Ledger other = folders.open(path);
  ASSERT_TRUE(other.record(row_of("other", LedgerState::Built)));
  ASSERT_TRUE(ledger.record_with(row_of("a", LedgerState::Built), "out", [&]() -> Ledger::Done {
    // The book is held here: the other one can read it, and sees what the folder says.
    folders.digests["out"] = "a";
    EXPECT_THAT(digests_in(other), ElementsAre("a", "other"));
    return {};
  }));
  EXPECT_THAT(digests_in(other), ElementsAre("a", "other"));
}

TEST(Ledger, ALedgerOfTheFirstVersionIsReadAndGoesOn) {
  const std::string path = fresh("first-version");
  sqlite3* database = nullptr;
  ASSERT_EQ(sqlite3_open(path.c_str(), &database), SQLITE_OK);
  ASSERT_EQ(sqlite3_exec(database,
                         "CREATE TABLE plans (digest TEXT PRIMARY KEY NOT NULL, station TEXT NOT NULL,"
                         " load TEXT NOT NULL, begin TEXT NOT NULL, previous TEXT NOT NULL,"
                         " state INTEGER NOT NULL CHECK (state BETWEEN 0 AND 2), entries INTEGER NOT NULL,"
                         " next_sequence_count INTEGER NOT NULL) STRICT;"
                         "INSERT INTO plans VALUES ('old', 'alder', 'alder-41', '2031', '', 2, 3, 4);"
                         "PRAGMA user_version = 1;",
                         nullptr, nullptr, nullptr),
            SQLITE_OK);
  sqlite3_close(database);
  Folders folders;
  {
    const Ledger ledger = folders.open(path);
    EXPECT_THAT(digests_in(ledger), ElementsAre("old"));
  }
  Ledger ledger = folders.open(path);
  ASSERT_TRUE(
      ledger.record_with(row_of("new", LedgerState::Built), "out", []() -> Ledger::Done { return {}; }));
  EXPECT_THAT(digests_in(ledger), ElementsAre("old", "new"));  // by time
  EXPECT_EQ((*ledger.rows())[0].state, LedgerState::Sent);
}

// ---- a layer under SQLite that ends the process at the n-th write, truncation, synchronisation or deletion
// ----

int writes_left = 0;
sqlite3_vfs* beneath = nullptr;
sqlite3_vfs layer;
sqlite3_io_methods methods;
const sqlite3_io_methods* methods_beneath = nullptr;

void count() {
  if (--writes_left < 0) _exit(77);
}
int counted_write(sqlite3_file* file, const void* data, int size, sqlite3_int64 offset) {
  // Half of it is written before the end comes.
  if (writes_left == 0) (void)methods_beneath->xWrite(file, data, size / 2, offset);
  count();
  return methods_beneath->xWrite(file, data, size, offset);
}
int counted_truncate(sqlite3_file* file, sqlite3_int64 size) {
  count();
  return methods_beneath->xTruncate(file, size);
}
int counted_sync(sqlite3_file* file, int flags) {
  count();
  return methods_beneath->xSync(file, flags);
}
int counted_delete(sqlite3_vfs*, const char* name, int sync) {
  count();
  return beneath->xDelete(beneath, name, sync);
}
int counted_open(sqlite3_vfs*, sqlite3_filename name, sqlite3_file* file, int flags, int* out_flags) {
  const int result = beneath->xOpen(beneath, name, file, flags, out_flags);
  if (result == SQLITE_OK && file->pMethods != nullptr) {
    methods_beneath = file->pMethods;
    methods = *file->pMethods;
    methods.xWrite = counted_write;
    methods.xTruncate = counted_truncate;
    methods.xSync = counted_sync;
    file->pMethods = &methods;
  }
  return result;
}

[[noreturn]] void record_and_end(const std::string& path, int writes, bool rebuilds) {
  beneath = sqlite3_vfs_find(nullptr);
  layer = *beneath;
  layer.zName = "counted";
  layer.xOpen = counted_open;
  layer.xDelete = counted_delete;
  if (sqlite3_vfs_register(&layer, 1) != SQLITE_OK) _exit(1);
  writes_left = writes;
  auto ledger = opened(path);
  if (!ledger) _exit(2);
  const auto done =
      rebuilds ? ledger->rebuild({row_of("new", LedgerState::Built), row_of("newer", LedgerState::Sent)})
               : ledger->record(row_of("new", LedgerState::Built));
  _exit(done ? 0 : 3);
}

TEST(Ledger, KilledAtAnyWriteIsAsBeforeOrComplete) {
  for (const bool rebuilds : {false, true}) {
    std::size_t before = 0;
    std::size_t complete = 0;
    for (int writes = 0;; ++writes) {
      ASSERT_LT(writes, 1000);
      const std::string path = fresh("killed");
      {
        auto ledger = opened(path);
        ASSERT_TRUE(ledger);
        ASSERT_TRUE(ledger->record(row_of("old", LedgerState::Sent)));
      }
      const pid_t child = fork();
      ASSERT_GE(child, 0);
      if (child == 0) record_and_end(path, writes, rebuilds);
      int status = 0;
      ASSERT_EQ(waitpid(child, &status, 0), child);
      ASSERT_TRUE(WIFEXITED(status));
      const auto ledger = opened(path);
      ASSERT_TRUE(ledger) << writes << ": " << ledger.error();
      const auto rows = ledger->rows();
      ASSERT_TRUE(rows) << writes << ": " << rows.error();
      std::vector<std::string> digests;
      for (const LedgerRow& row : *rows) digests.push_back(row.digest);
      const std::vector<std::string> old{"old"};
      const std::vector<std::string> whole =
          rebuilds ? std::vector<std::string>{"new", "newer"} : std::vector<std::string>{"new", "old"};
      ASSERT_TRUE(digests == old || digests == whole) << "killed at write " << writes;
      (digests == old ? before : complete) += 1;
      if (WEXITSTATUS(status) == 0) {
        EXPECT_EQ(digests, whole);
        break;
      }
      ASSERT_EQ(WEXITSTATUS(status), 77);
    }
    EXPECT_GT(before, 3U) << "nothing was killed";
    EXPECT_GT(complete, 0U);
  }
}

}  // namespace
}  // namespace cairn
