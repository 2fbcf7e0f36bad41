// Only compiler/command/ speaks, reads and ends: everywhere else, what there is to say is a value.
//
// Reads every source of both wings, comments and texts left out, for the words that print, end the program,
// or take a file, the clock or the environment by themselves. Planted breaches show that it can fail.

#include <gmock/gmock.h>

#include <regex>

#include "tests/layers/source_tree.h"

namespace cairn::test {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

constexpr std::string_view speaking_room = "compiler/command/";

std::vector<std::string> check_quiet(const std::vector<SourceText>& files) {
  static const std::regex loud(
      R"((^|[^A-Za-z0-9_])()"
      R"(v?f?printf\s*\(|f?put(s|c|char)\s*\(|perror\s*\(|cout\b|cerr\b|clog\b|fmt\s*::\s*(v?print|println)\b|)"
      R"(std\s*::\s*print(ln)?\b|stdout\b|stderr\b|)"
      R"(_?exit\s*\(|_Exit\s*\(|quick_exit\s*\(|abort\s*\(|std\s*::\s*terminate\s*\(|)"
      R"([io]?fstream\b|filesystem\b|fopen\s*\(|getenv\s*\(|system\s*\(|popen\s*\(|)"
      R"((system|steady|utc|high_resolution)_clock\b|random_device\b))");
  std::vector<std::string> breaches;
  std::size_t read = 0;
  for (const SourceText& file : files) {
    if (file.path.starts_with(speaking_room)) continue;
    ++read;
    const std::vector<std::string> lines = lines_of(code_only(file.text));
    for (std::size_t i = 0; i < lines.size(); ++i) {
      std::smatch match;
      if (!std::regex_search(lines[i], match, loud)) continue;
      breaches.push_back(file.path + ":" + std::to_string(i + 1) + ": `" + match.str() + "` outside " +
                         std::string(speaking_room));
    }
  }
  if (read == 0) breaches.emplace_back("no file was read");
  return breaches;
}

TEST(Quiet, NothingPrintsOrEndsOutsideTheCommandRoom) {
  std::vector<SourceText> files = files_under("constraints", {".cpp", ".h", ".def"});
  for (SourceText& file : files_under("compiler", {".cpp", ".h", ".def"})) files.push_back(std::move(file));
  EXPECT_THAT(check_quiet(files), IsEmpty());
}

TEST(Quiet, PlantedBreachesAreFound) {
  for (const char* line : {"std::cout << 1;",
                           "using std::cerr; cerr << 1;",
                           "  printf(\"%d\", 1);",
                           "std::printf (\"\");",
                           "fprintf(stream, \"\");",
                           "puts(\"a\");",
                           "std::fputs(text, out);",
                           "fmt::print(\"a\");",
                           "fmt::println(\"a\");",
                           "std::println(\"a\");",
                           "if (bad) exit(1);",
                           "std::exit(1);",
                           "_exit(1);",
                           "std::abort();",
                           "std::ifstream file(path);",
                           "#include <fstream>",
                           "std::filesystem::exists(p);",
                           "std::fopen(p, \"r\");",
                           "std::getenv(\"HOME\");",
                           "auto now = std::chrono::system_clock::now();",
                           "std::fwrite(a, 1, 1, stdout);"}) {
    EXPECT_THAT(check_quiet({{"compiler/text/a.cpp", std::string("int a;\n") + line + "\n"}}),
                ElementsAre(HasSubstr("compiler/text/a.cpp:2: ")))
        << line;
  }
}

TEST(Quiet, WordsAlikeAreLeftAlone) {
  for (const char* line :
       {"std::snprintf(buffer, size, \"%d\", 1);", "// printf(\"\")", "/* exit(1); */ int a;",
        "text = \"exit(1)\";", "text = R\"x(std::cout)x\";", "state.on_exit(1);",
        "int about = 1'000; // cout", "output(1);", "fmt::format(\"a\");"}) {
    EXPECT_THAT(check_quiet({{"compiler/text/a.cpp", line}}), IsEmpty()) << line;
  }
  EXPECT_THAT(check_quiet({{"compiler/text/a.cpp", ""}, {"compiler/command/a.cpp", "std::cout << 1;"}}),
              IsEmpty());
}

TEST(Quiet, NothingReadIsABreach) {
  EXPECT_THAT(check_quiet({}), SizeIs(1));
  EXPECT_THAT(check_quiet({{"compiler/command/a.cpp", "std::cout << 1;"}}), SizeIs(1));
}

}  // namespace
}  // namespace cairn::test
