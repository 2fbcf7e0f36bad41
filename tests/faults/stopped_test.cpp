// Stopped at any moment, the tool leaves ledger and plan folder together as they were or complete.
//
// The program itself is run with a layer under it that ends it at its n-th call that changes a file; for
// every n, until it comes to its end. After each stop the folder is compared file by file, the ledger is read
// by the program, and the same command is given again.

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "tests/place.h"

namespace cairn::test {
namespace {

namespace fs = std::filesystem;

using ::testing::IsSupersetOf;
using Arguments = std::vector<std::string>;
// By path inside the folder; folders themselves end with a slash.
using Tree = std::map<std::string, std::string>;

std::string text_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

Tree tree_of(const fs::path& folder) {
  Tree tree;
  if (!fs::exists(folder)) return tree;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    const std::string name = entry.path().lexically_relative(folder).generic_string();
    if (entry.is_directory()) {
      tree[name + "/"] = "";
    } else {
      tree[name] = text_of(entry.path());
    }
  }
  return tree;
}

// Both lie where this test lies in the build's folder.
fs::path built(const std::string& path) {
  return fs::read_symlink("/proc/self/exe").parent_path().parent_path().parent_path() / path;
}

struct Ended {
  bool is_stopped = false;
  int code = -1;
  std::string output;
};

// A folder with the state that the tool changes, beside a project that it only reads.
class Scene {
 public:
  Scene() {
    // In memory where there is such a place: nothing here hangs on a disk, and one would be waited for.
    const fs::path memory = "/dev/shm";
    const bool has_memory = ::access(memory.c_str(), W_OK) == 0;
    std::string pattern =
        ((has_memory ? memory : fs::temp_directory_path()) / "cairn-stopped-XXXXXX").string();
    root_ = ::mkdtemp(pattern.data());
    fs::create_directories(root_ / "loads");
    fs::copy(fs::path(source_folder()) / "examples/stations", root_ / "stations",
             fs::copy_options::recursive);
    fs::create_directories(state());
    fs::create_directories(root_ / "kept");
    fs::create_directories(root_ / "temporary");
  }
  Scene(const Scene&) = delete;
  Scene& operator=(const Scene&) = delete;
  ~Scene() {
    std::error_code error;
    fs::remove_all(root_, error);
  }

  [[nodiscard]] fs::path state() const { return root_ / "state"; }
  [[nodiscard]] std::string path(const std::string& name) const { return (root_ / name).string(); }

  void load(const std::string& name, const std::string& statements) const {
    std::ofstream(root_ / "loads" / name)
        << "load \"" << fs::path(name).stem().string()
        << "\" for cedar {\n  span 2031-05-10T18:00:00Z to 2031-05-10T19:00:00Z\n" + statements + "}\n";
  }

  // What every run begins with.
  void keep() const { copy(state(), root_ / "kept"); }
  void restore() const { copy(root_ / "kept", state()); }

  // Runs the tool in the state's folder. `stop_at`: at which moment it is stopped; none: it isn't.
  [[nodiscard]] Ended run(const Arguments& arguments, std::optional<int> stop_at = std::nullopt) const {
    const std::string output = path("output");
    const std::string layer = built("tests/faults/libcairn_stopping_layer.so");
    const pid_t child = ::fork();
    if (child == 0) {
      if (::chdir(state().c_str()) != 0) ::_exit(120);
      if (::freopen(output.c_str(), "w", stdout) == nullptr) ::_exit(121);
      if (::freopen((output + "-errors").c_str(), "w", stderr) == nullptr) ::_exit(121);
      ::setenv("TMPDIR", path("temporary").c_str(), 1);
      if (stop_at) {
        ::setenv("LD_PRELOAD", layer.c_str(), 1);
        ::setenv("ASAN_OPTIONS", "verify_asan_link_order=0", 1);
        ::setenv("CAIRN_STOP_AT", std::to_string(*stop_at).c_str(), 1);
        ::setenv("CAIRN_STOP_LOG", path("log").c_str(), 1);
      }
      std::vector<char*> words;
      std::string program = built("compiler/command/cairn");
      words.push_back(program.data());
      Arguments copies = arguments;
      for (std::string& word : copies) words.push_back(word.data());
      words.push_back(nullptr);
      ::execv(program.c_str(), words.data());
      ::_exit(122);
    }
    int status = 0;
    EXPECT_EQ(::waitpid(child, &status, 0), child);
    Ended ended;
    ended.is_stopped = WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL;
    if (WIFEXITED(status)) ended.code = WEXITSTATUS(status);
    ended.output = text_of(output);
    return ended;
  }
  [[nodiscard]] std::string errors() const { return text_of(path("output-errors")); }

  // The calls that the last runs made.
  [[nodiscard]] std::set<std::string> calls() const {
    std::set<std::string> names;
    std::ifstream log(path("log"));
    for (std::string line; std::getline(log, line);) names.insert(line);
    return names;
  }

  // Digest and state, as the tool tells them.
  [[nodiscard]] std::map<std::string, std::string> ledger() const {
    const Ended answer = run({"ledger", "posts.ledger", "--json"});
    EXPECT_EQ(answer.code, 0) << errors();
    std::map<std::string, std::string> rows;
    const auto list = nlohmann::json::parse(answer.output, nullptr, false);
    EXPECT_TRUE(list.is_array()) << answer.output;
    for (const auto& row : list) rows[row.at("digest")] = row.at("state");
    return rows;
  }

  // What a stop left beside, as old as it must be for the next one to take it away.
  std::size_t age_remains() const {
    std::size_t found = 0;
    for (const auto& entry : fs::directory_iterator(state())) {
      if (entry.path().filename().string().find(".cairn-") == std::string::npos) continue;
      fs::last_write_time(entry.path(), fs::file_time_type::clock::now() - std::chrono::minutes(2));
      ++found;
    }
    return found;
  }

 private:
  static void copy(const fs::path& from, const fs::path& to) {
    fs::remove_all(to);
    fs::copy(from, to, fs::copy_options::recursive);
  }
  fs::path root_;
};

Arguments build_of(const Scene& scene, const std::string& load) {
  return {"build", scene.path("loads/" + load), "--out", "out", "--ledger", "posts.ledger"};
}

struct Pair {
  Tree folder;
  std::map<std::string, std::string> ledger;
  bool operator==(const Pair&) const = default;
};

Pair pair_of(const Scene& scene) {
  const Tree folder = tree_of(scene.state() / "out");  // before anybody reads the ledger
  return {folder, scene.ledger()};
}

constexpr int most_moments = 1000;

// Stops `command` at every moment and holds what is there against before and after it.
// `writes_after`: whether anything is left to do once all is there.
void stop_everywhere(const Scene& scene, const Arguments& command, std::size_t least_moments,
                     bool writes_after = true) {
  scene.keep();
  const Pair before = pair_of(scene);
  scene.restore();
  ASSERT_EQ(scene.run(command).code, 0) << scene.errors();
  const Pair after = pair_of(scene);
  ASSERT_NE(before, after);
  std::size_t as_before = 0;
  std::size_t complete = 0;
  std::size_t remains = 0;
  for (int moment = 0;; ++moment) {
    ASSERT_LT(moment, most_moments);
    scene.restore();
    const Ended ended = scene.run(command, moment);
    if (!ended.is_stopped) {
      ASSERT_EQ(ended.code, 0) << scene.errors();
      EXPECT_EQ(pair_of(scene), after);
      break;
    }
    const Pair found = pair_of(scene);
    ASSERT_TRUE(found == before || found == after)
        << "stopped at moment " << moment << ": folder " << (found.folder == after.folder ? "new" : "old")
        << ", ledger " << (found.ledger == after.ledger ? "new" : "old");
    EXPECT_EQ(pair_of(scene), found) << "it changes with looking; moment " << moment;
    (found == before ? as_before : complete) += 1;
    remains += scene.age_remains();
    ASSERT_EQ(scene.run(command).code, 0) << "after a stop at moment " << moment << ": " << scene.errors();
    ASSERT_EQ(pair_of(scene), after) << moment;
    EXPECT_EQ(scene.age_remains(), 0U) << moment;
  }
  EXPECT_GT(as_before, least_moments) << "nothing was stopped";
  EXPECT_EQ(complete > 0, writes_after) << complete;
  testing::Test::RecordProperty("as_before", static_cast<int>(as_before));
  testing::Test::RecordProperty("complete", static_cast<int>(complete));
  testing::Test::RecordProperty("remains", static_cast<int>(remains));
}

constexpr const char* first_statements = "  at 2031-05-10T18:10:00Z { send relay.report }\n";
constexpr const char* second_statements = "  at 2031-05-10T18:20:00Z { send mast.report }\n";

TEST(Stopped, FirstBuildWithALedger) {
  const Scene scene;
  scene.load("first.cairn", first_statements);
  stop_everywhere(scene, build_of(scene, "first.cairn"), 50);
  EXPECT_THAT(scene.calls(),
              IsSupersetOf({"write", "write, half", "fsync", "renameat2", "mkdtemp", "mkdir"}));
  const std::set<std::string> calls = scene.calls();
  EXPECT_TRUE(calls.contains("pwrite64") || calls.contains("pwrite")) << "the ledger escapes the layer";
}

TEST(Stopped, BuildInThePlaceOfAnother) {
  const Scene scene;
  scene.load("first.cairn", first_statements);
  scene.load("second.cairn", second_statements);
  ASSERT_EQ(scene.run(build_of(scene, "first.cairn")).code, 0) << scene.errors();
  ASSERT_EQ(scene.run({"ledger", "posts.ledger", "out/plan.json", "--as", "sent"}).code, 0);
  std::ofstream(scene.state() / "out/signature") << "of the plan before";
  stop_everywhere(scene, build_of(scene, "second.cairn"), 50);
}

TEST(Stopped, ChangesOfTheLedgerAlone) {
  const Scene scene;
  scene.load("first.cairn", first_statements);
  scene.load("second.cairn", second_statements);
  ASSERT_EQ(scene.run(build_of(scene, "second.cairn")).code, 0) << scene.errors();
  ASSERT_EQ(scene.run(build_of(scene, "first.cairn")).code, 0) << scene.errors();
  stop_everywhere(scene, {"ledger", "posts.ledger", "out/plan.json", "--as", "sent"}, 5, false);
  scene.restore();
  stop_everywhere(scene, {"ledger", "posts.ledger", "out/plan.json", "--as", "approved", "--rebuild"}, 5,
                  false);
}

// A signature is there whole or not at all, and nothing else in the plan's folder.
TEST(Stopped, ASignature) {
  const Scene scene;
  const std::string key = scene.path("key");
  if (std::system(("ssh-keygen -q -t ed25519 -N '' -f " + key + " 2>/dev/null").c_str()) != 0)
    GTEST_SKIP() << "no ssh-keygen";
  std::ofstream(scene.path("allowed_signers")) << "ann@tarn-ridge.example " << text_of(key + ".pub");
  std::ofstream(scene.path("policy.yaml"))
      << "cairn-policy: 1\nsigners: allowed_signers\n"
         "roles: {author: {people: [ann@tarn-ridge.example], needed: always}}\n";
  scene.load("first.cairn", first_statements);
  ASSERT_EQ(scene.run({"build", scene.path("loads/first.cairn"), "--out", "out"}).code, 0) << scene.errors();
  scene.keep();
  const Arguments command{"sign",   "out",    "--policy", scene.path("policy.yaml"),
                          "--role", "author", "--person", "ann@tarn-ridge.example",
                          "--key",  key,      "--at",     "2031-05-01T00:00:00Z"};
  const auto files_of = [&] {
    Tree tree = tree_of(scene.state() / "out");
    std::erase_if(tree, [](const auto& entry) { return entry.first.ends_with('/'); });
    return tree;
  };
  const Tree before = files_of();
  ASSERT_EQ(scene.run(command).code, 0) << scene.errors();
  const Tree after = files_of();
  ASSERT_EQ(after.size(), before.size() + 1);
  std::size_t stops = 0;
  for (int moment = 0;; ++moment) {
    ASSERT_LT(moment, most_moments);
    scene.restore();
    const Ended ended = scene.run(command, moment);
    const Tree found = files_of();
    ASSERT_TRUE(found == before || found == after) << moment;
    if (!ended.is_stopped) break;
    ++stops;
    ASSERT_EQ(scene.run(command).code, 0) << moment << ": " << scene.errors();
    ASSERT_EQ(files_of(), after) << moment;
  }
  EXPECT_GT(stops, 8U);
}

// One file that takes the place of another: a page.
TEST(Stopped, AFileInThePlaceOfAnother) {
  const Scene scene;
  scene.load("first.cairn", first_statements);
  std::ofstream(scene.state() / "page.html") << "the page before";
  scene.keep();
  const Arguments command{"check", scene.path("loads/first.cairn"), "--page", "page.html"};
  std::size_t stops = 0;
  for (int moment = 0;; ++moment) {
    ASSERT_LT(moment, most_moments);
    scene.restore();
    const Ended ended = scene.run(command, moment);
    const std::string page = text_of(scene.state() / "page.html");
    ASSERT_TRUE(page == "the page before" || page.ends_with("</html>\n")) << moment;
    if (!ended.is_stopped) break;
    ++stops;
  }
  EXPECT_GT(stops, 4U);
}

}  // namespace
}  // namespace cairn::test
