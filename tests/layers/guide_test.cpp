// The guides for contributors name files and rooms that are there.

#include <gmock/gmock.h>

#include <filesystem>
#include <regex>

#include "tests/layers/layers.h"
#include "tests/place.h"

namespace cairn::test {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;
using ::testing::Not;

// Paths in backticks, from the root of the project or, for the guide of a folder, from that folder.
std::vector<std::string> missing_paths(std::string_view guide, const std::string& folder,
                                       std::size_t& found) {
  static const std::regex path("`([A-Za-z0-9_./-]+/[A-Za-z0-9_./-]*|[A-Za-z0-9_-]+\\.(h|cpp|md|txt))`");
  const std::filesystem::path root = cairn::test::source_folder();
  std::vector<std::string> missing;
  const std::string text(guide);
  for (std::sregex_iterator at(text.begin(), text.end(), path), end; at != end; ++at) {
    const std::string name = (*at)[1];
    if (name == "CMakeLists.txt" || name == "layers.txt" || name == "area-word.md") continue;
    ++found;
    const bool here = std::filesystem::exists(root / name) || std::filesystem::exists(root / folder / name);
    if (!here) missing.push_back(name);
  }
  return missing;
}

TEST(Guide, NamesOnlyWhatIsThere) {
  std::size_t found = 0;
  EXPECT_THAT(missing_paths(read_file("DEVELOPERS.md"), "", found), IsEmpty());
  EXPECT_GT(found, 50U);
}

TEST(Guide, TheStageTableIsTheListOfRooms) {
  const std::string guide = read_file("compiler/README.md");
  Layers layers;
  read_layers("compiler", read_file("compiler/layers.txt"), layers);
  ASSERT_THAT(layers.rooms, Not(IsEmpty()));
  std::size_t rows = 0;
  for (const std::string& line : lines_of(guide)) rows += line.starts_with("| `") ? 1U : 0U;
  EXPECT_EQ(rows, layers.rooms.size());
  for (const Room& room : layers.rooms) {
    const std::string folder = room.paths.front().substr(std::string_view("compiler/").size());
    const std::size_t row = guide.find("\n| `" + folder + "/` |");
    ASSERT_NE(row, std::string::npos) << folder;
    // The files to begin with stand in that room.
    std::size_t found = 0;
    const std::string line = guide.substr(row + 1, guide.find('\n', row + 1) - row - 1);
    const std::string last = line.substr(line.rfind('|', line.size() - 2));
    EXPECT_THAT(missing_paths(last, "compiler/" + folder, found), IsEmpty()) << folder;
    EXPECT_GT(found, 0U) << folder;
  }
}

TEST(Guide, APlantedPathIsFound) {
  std::size_t found = 0;
  EXPECT_THAT(missing_paths("see `compiler/no_such/file.cpp`, `tests/layers` and `a word`", "", found),
              ElementsAre("compiler/no_such/file.cpp"));
  EXPECT_EQ(found, 2U);
}

}  // namespace
}  // namespace cairn::test
