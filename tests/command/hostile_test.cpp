// Cut and changed input ends in diagnostics or a result, and folders appear whole or not at all.

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <memory>
#include <sstream>

#include "compiler/text/render.h"
#include "tests/command/project.h"

namespace cairn::test {
namespace {

namespace fs = std::filesystem;

std::string slurp(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

void spill(const fs::path& path, std::string_view text) {
  std::ofstream(path, std::ios::binary).write(text.data(), static_cast<std::streamsize>(text.size()));
}

// A copy of the demo project in a folder of its own, gone when the test is.
class Copy {
 public:
  explicit Copy(const std::string& name) : folder(fs::temp_directory_path() / ("cairn-" + name)) {
    fs::remove_all(folder);
    fs::copy(source_path("examples"), folder, fs::copy_options::recursive);
  }
  ~Copy() {
    std::error_code error;
    fs::remove_all(folder, error);
  }
  Copy(const Copy&) = delete;
  Copy& operator=(const Copy&) = delete;
  fs::path folder;
};

// What must be true of any run whatever the input: no result without a reason, and words for every reason.
void expect_sound(const Run& run) {
  EXPECT_TRUE(run.compiled || run.diagnostics.has_errors());
  const std::string words = render_text(run.diagnostics.all(), run.files, {});
  const std::string data = render_json(run.diagnostics.all(), run.files);
  EXPECT_EQ(words.empty(), run.diagnostics.all().empty());
  EXPECT_FALSE(data.empty());
}

constexpr std::string_view small_load =
    "use \"../routines/vane.cairn\"\n"
    "load \"small\" for alder {\n  span 2031-05-10T00:00:00Z to 2031-05-11T00:00:00Z\n  note "
    "\"caf\xC3\xA9\"\n"
    "  let settle = 90 s\n  mark pass = window west-dish 1 opens\n  at pass + 2 h as show {\n"
    "    bring camera to standby\n    after settle send camera.cover position=open\n    do "
    "flip-vane(step=180 deg)\n"
    "    together { send relay.report  after 5 s send probe.report }\n  }\n"
    "  from 2031-05-10T12:00:00Z to 2031-05-10T14:00:00Z every 1 h { send keeper.time-report }\n}\n";

TEST(Hostile, ALoadCutAtAnyByte) {
  const Copy copy("cut-load");
  const fs::path load = copy.folder / "loads/small.cairn";
  spill(load, small_load);
  const auto whole = compile_load_file(load.string());
  ASSERT_TRUE(whole->compiled.has_value()) << render_text(whole->diagnostics.all(), whole->files, {});
  for (std::size_t size = 0; size + 2 < small_load.size(); ++size) {
    spill(load, small_load.substr(0, size));
    const auto run = compile_load_file(load.string());
    EXPECT_FALSE(run->compiled.has_value()) << size;
    expect_sound(*run);
  }
}

TEST(Hostile, ALoadChangedAtAnyByte) {
  const Copy copy("changed-load");
  const fs::path load = copy.folder / "loads/small.cairn";
  for (std::size_t i = 0; i < small_load.size(); ++i) {
    std::string changed(small_load);
    changed[i] = static_cast<char>(changed[i] ^ (1 << (i % 8)));
    spill(load, changed);
    expect_sound(*compile_load_file(load.string()));
  }
}

TEST(Hostile, AStationFileCutOrChanged) {
  const Copy copy("station");
  const fs::path load = copy.folder / "loads/small.cairn";
  spill(load, small_load);
  for (const char* name :
       {"stations/alder.yaml", "stations/shared/relay.yaml", "stations/shared/clock.yaml"}) {
    const fs::path path = copy.folder / name;
    const std::string whole = slurp(path);
    ASSERT_FALSE(whole.empty());
    const std::size_t stride = std::max<std::size_t>(1, whole.size() / 30);
    for (std::size_t i = 0; i < whole.size(); i += stride) {
      spill(path, std::string_view(whole).substr(0, i));
      expect_sound(*compile_load_file(load.string()));
      std::string changed = whole;
      changed[i] = static_cast<char>(changed[i] ^ (1 << (i % 8)));
      spill(path, changed);
      expect_sound(*compile_load_file(load.string()));
    }
    spill(path, whole);
  }
}

TEST(Hostile, LinksOutOfTheProjectAreNotFollowed) {
  const Copy copy("links");
  const fs::path outside = copy.folder.string() + "-outside.cairn";
  spill(outside, "routine secret() { note \"seen\" }\n");
  fs::create_symlink(outside, copy.folder / "routines/link.cairn");
  const fs::path load = copy.folder / "loads/small.cairn";
  spill(load, "use \"../routines/link.cairn\"\n" + std::string(small_load));
  const auto run = compile_load_file(load.string());
  EXPECT_FALSE(run->compiled.has_value());
  ASSERT_TRUE(run->diagnostics.has_errors());
  EXPECT_EQ(run->diagnostics.all().front().code, "meaning/use-unreadable");
  fs::remove(outside);
}

TEST(Folder, AppearsWholeOrNotAtAll) {
  const fs::path place = fs::temp_directory_path() / "cairn-folder-test";
  fs::remove_all(place);
  const World world;
  const World::Files first{{"plan.json", "one"}, {"uplink/a.bin", "bytes"}};
  ASSERT_TRUE(world.write_folder((place / "out").string(), first).has_value());
  EXPECT_EQ(slurp(place / "out/uplink/a.bin"), "bytes");

  // An earlier plan is replaced as a whole: nothing of it remains.
  const World::Files second{{"plan.json", "two"}};
  ASSERT_TRUE(world.write_folder((place / "out").string(), second).has_value());
  EXPECT_EQ(slurp(place / "out/plan.json"), "two");
  EXPECT_FALSE(fs::exists(place / "out/uplink"));

  // A file that cannot be written leaves everything as it was, and no litter.
  const World::Files bad{{"plan.json", "three"}, {std::string(300, 'x'), "name too long"}};
  EXPECT_FALSE(world.write_folder((place / "out").string(), bad).has_value());
  EXPECT_EQ(slurp(place / "out/plan.json"), "two");
  EXPECT_EQ(std::distance(fs::directory_iterator(place), fs::directory_iterator()), 1);

  // Other people's files are safe.
  fs::create_directory(place / "mine");
  spill(place / "mine/letter.txt", "dear");
  const auto refused = world.write_folder((place / "mine").string(), second);
  ASSERT_FALSE(refused.has_value());
  EXPECT_EQ(refused.error().error, World::WriteError::Occupied);
  EXPECT_EQ(slurp(place / "mine/letter.txt"), "dear");
  fs::remove_all(place);
}

}  // namespace
}  // namespace cairn::test
