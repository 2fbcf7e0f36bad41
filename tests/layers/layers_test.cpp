// Holds constraints/layers.txt and compiler/layers.txt against every add_room call and every #include.
//
// The planted breaches below show that the guard can fail; a guard that finds nothing to read fails too.

#include "tests/layers/layers.h"

#include <gmock/gmock.h>

#include <algorithm>

namespace cairn::test {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

const std::vector<std::string> wings{"constraints", "compiler"};

Layers project_layers() {
  Layers layers;
  for (const std::string& wing : wings) read_layers(wing, read_file(wing + "/layers.txt"), layers);
  return layers;
}

std::vector<SourceText> project_sources() {
  std::vector<SourceText> sources;
  for (const std::string& wing : wings) {
    for (SourceText& file : files_under(wing, {".cpp", ".h", ".def"})) sources.push_back(std::move(file));
  }
  return sources;
}

std::map<std::string, std::set<std::string>> project_rooms() {
  std::map<std::string, std::set<std::string>> rooms;
  for (const std::string& wing : wings) {
    for (const SourceText& file : files_under(wing, {"CMakeLists.txt"}))
      rooms.merge(add_room_calls(file.text));
  }
  return rooms;
}

TEST(Layers, EveryIncludeFollowsTheList) {
  EXPECT_THAT(check_includes(project_layers(), project_sources()), IsEmpty());
}

TEST(Layers, TheListIsWhatIsBuilt) { EXPECT_THAT(check_graph(project_layers(), project_rooms()), IsEmpty()); }

TEST(Layers, EveryDoorLeadsToSomething) {
  const std::vector<SourceText> sources = project_sources();
  const std::vector<Door> doors = project_layers().doors;
  ASSERT_THAT(doors, Not(IsEmpty()));
  for (const Door& door : doors) {
    for (const std::string& inside : door.inside) {
      const bool found = std::any_of(sources.begin(), sources.end(), [&](const SourceText& file) {
        return file.path == inside || file.path.starts_with(inside + "/");
      });
      EXPECT_TRUE(found) << "the door of " << door.header << " names " << inside << ", which is not there";
    }
  }
}

// A little house with one breach of each kind.
Layers small_layers() {
  Layers layers;
  read_layers("constraints", "room low:\nroom high at high loose.h: low\ndoor lib.h: low/door.cpp\n", layers);
  read_layers("compiler", "room top: high\ndoor many/: top\n", layers);
  return layers;
}

TEST(PlantedBreach, IncludeAgainstTheEdges) {
  EXPECT_THAT(
      check_includes(small_layers(), {{"constraints/low/a.cpp", "#include \"constraints/high/b.h\"\n"}}),
      ElementsAre(HasSubstr("room low may not include room high")));
  EXPECT_THAT(
      check_includes(small_layers(), {{"constraints/low/a.cpp", "\n#include \"constraints/loose.h\"\n"}}),
      ElementsAre(HasSubstr("a.cpp:2: room low may not include room high")));
  // An edge does not carry over: top sees high, and not what high sees.
  EXPECT_THAT(
      check_includes(small_layers(), {{"compiler/top/a.cpp", "  #  include \"constraints/low/b.h\"\n"}}),
      ElementsAre(HasSubstr("room top may not include room low")));
  EXPECT_THAT(check_includes(small_layers(), {{"constraints/high/a.cpp", "#include \"compiler/top/b.h\"\n"}}),
              ElementsAre(HasSubstr("room high may not include room top")));
}

TEST(PlantedBreach, HeaderNotNamedFromTheRoot) {
  EXPECT_THAT(check_includes(small_layers(), {{"compiler/top/a.cpp", "#include \"b.h\"\n"}}),
              ElementsAre(HasSubstr("belongs to no room")));
  EXPECT_THAT(
      check_includes(small_layers(), {{"compiler/top/a.cpp", "#include \"../../constraints/low/b.h\"\n"}}),
      ElementsAre(HasSubstr("belongs to no room")));
}

TEST(PlantedBreach, FileOutsideEveryRoom) {
  EXPECT_THAT(check_includes(small_layers(), {{"compiler/other/a.cpp", "#include \"compiler/top/b.h\"\n"},
                                              {"compiler/top/a.cpp", "#include \"compiler/top/b.h\"\n"}}),
              ElementsAre(HasSubstr("belongs to no room")));
}

TEST(PlantedBreach, OtherPeoplesCode) {
  const std::string own = "#include \"constraints/high/b.h\"\n";
  EXPECT_THAT(check_includes(small_layers(), {{"constraints/high/a.cpp", own + "#include <lib.h>\n"}}),
              ElementsAre(HasSubstr("<lib.h> comes in by another door")));
  EXPECT_THAT(
      check_includes(small_layers(), {{"constraints/high/a.cpp", own + "#include <unknown/any.hpp>\n"}}),
      ElementsAre(HasSubstr("has no door")));
  EXPECT_THAT(check_includes(small_layers(),
                             {{"compiler/top/a.cpp", own + "#include <many/any.hpp>\n#include <map>\n"}}),
              IsEmpty());
}

TEST(PlantedBreach, NothingToCheck) {
  EXPECT_THAT(check_includes(small_layers(), {}), Not(IsEmpty()));
  EXPECT_THAT(check_includes(small_layers(), {{"constraints/low/a.cpp", "int a;\n"}}), Not(IsEmpty()));
  EXPECT_THAT(check_graph({}, {}), Not(IsEmpty()));
  // Comments hold no includes.
  EXPECT_THAT(
      check_includes(small_layers(), {{"constraints/low/a.cpp", "// #include \"constraints/low/b.h\"\n"}}),
      Not(IsEmpty()));
}

TEST(PlantedBreach, ListAndBuildDisagree) {
  const auto with = [](std::string_view cmake) { return check_graph(small_layers(), add_room_calls(cmake)); };
  EXPECT_THAT(with("add_room(low SOURCES a.cpp)\nadd_room(high\n  DEPENDS low)\n# add_room(other)\n"
                   "add_room(top HEADERS a.h DEPENDS high PRIVATE_DEPENDS lib APART b.cpp)"),
              IsEmpty());
  EXPECT_THAT(with("add_room(low DEPENDS high)\nadd_room(high DEPENDS low)\nadd_room(top DEPENDS high)"),
              ElementsAre(HasSubstr("room low is listed with [] and built with [high]")));
  EXPECT_THAT(with("add_room(low)\nadd_room(high DEPENDS low)"),
              ElementsAre(HasSubstr("room top is listed but not built")));
  EXPECT_THAT(with("add_room(low)\nadd_room(high DEPENDS low)\nadd_room(top DEPENDS high)\nadd_room(new)"),
              ElementsAre(HasSubstr("room new is built but not listed")));
}

TEST(PlantedBreach, EdgesThatMustNotBe) {
  const auto breaches = [](std::string_view constraints, std::string_view compiler) {
    Layers layers;
    read_layers("constraints", constraints, layers);
    read_layers("compiler", compiler, layers);
    std::map<std::string, std::set<std::string>> built;
    for (const Room& room : layers.rooms) built[room.name] = room.edges;
    return check_graph(layers, built);
  };
  EXPECT_THAT(breaches("room a: b\n", "room b:\n"),
              ElementsAre(HasSubstr("room a of constraints may include b")));
  EXPECT_THAT(breaches("room a: b\nroom b: a\n", ""),
              ElementsAre(HasSubstr("leads back"), HasSubstr("leads back")));
  EXPECT_THAT(breaches("room a: b\n", ""), ElementsAre(HasSubstr("which is no room")));
  EXPECT_THAT(breaches("room a:\nroom a:\n", ""), ElementsAre(HasSubstr("listed twice")));
  EXPECT_THAT(breaches("room a:\nroom\n", ""), ElementsAre(HasSubstr("not a room and not a door")));
}

}  // namespace
}  // namespace cairn::test
