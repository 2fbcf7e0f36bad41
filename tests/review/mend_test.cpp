// Loads with one generated fault each: blocks shifted, doubled, lengthened, a bring removed. At least four of
// five are mended, and each mended load is compiled again from its file, with all checks.
//
// CAIRN_MEND_FAULTS sets how many (200 for the whole measurement); the default keeps the test short.

#include "compiler/command/mend.h"

#include <gmock/gmock.h>

#include <cstdlib>
#include <random>

#include "compiler/command/commands.h"
#include "compiler/review/mend.h"
#include "tests/review/project_copy.h"

namespace cairn::test {
namespace {

constexpr const char* base = R"(use "../routines/park.cairn"
use "../routines/vane.cairn"

load "alder-60-mending" for alder {
  span 2031-05-10T00:00:00Z to 2031-05-11T00:00:00Z

  at 2031-05-10T02:00:00Z {
    bring camera to standby
    send camera.cover position=open
    send camera.point towards=west
    bring camera to imaging
    send camera.expose exposure=40 ms frames=4
    do park-camera()
  }

  at 2031-05-10T06:00:00Z {
    send dust.shutter position=open
    send dust.charge-plate
    bring dust to counting
    after 1 h bring dust to standby
    send dust.ground-plate
    send dust.shutter position=closed
  }

  from 2031-05-10T10:00:00Z to 2031-05-10T16:00:00Z every 2 h {
    bring probe to measuring
    send probe.sample depth=0.4 m gain=3
    bring probe to standby
  }

  at 2031-05-10T18:00:00Z {
    do flip-vane(step=180 deg)
  }

  at 2031-05-10T20:00:00Z {
    send relay.transmitter-a level=high
    send keeper.playback store=first
    after 30 min send relay.transmitter-a level=low
  }
}
)";

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = text.find('\n', begin);
    lines.push_back(text.substr(begin, end - begin));
    begin = end + 1;
  }
  return lines;
}

std::string joined(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) text += line + "\n";
  return text;
}

// Begin and end line of each block of the load.
std::vector<std::pair<std::size_t, std::size_t>> blocks_of(const std::vector<std::string>& lines) {
  std::vector<std::pair<std::size_t, std::size_t>> blocks;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (!lines[i].starts_with("  at ") && !lines[i].starts_with("  from ")) continue;
    std::size_t end = i;
    while (lines[end] != "  }") ++end;
    blocks.emplace_back(i, end + 1);
  }
  return blocks;
}

std::string with_fault(std::mt19937& random) {
  std::vector<std::string> lines = lines_of(base);
  const auto blocks = blocks_of(lines);
  const auto [begin, end] = blocks[random() % blocks.size()];
  switch (random() % 4) {
    case 0: {  // shifted to another block's time
      const auto [other, other_end] = blocks[random() % blocks.size()];
      const std::size_t from = lines[other].find("2031");
      const std::string time = lines[other].substr(from, 20);
      const std::size_t at = lines[begin].find("2031");
      lines[begin].replace(at, 20, time + " + " + std::to_string(random() % 120) + " s");
      break;
    }
    case 1: {  // doubled
      const std::vector<std::string> copy(lines.begin() + static_cast<std::ptrdiff_t>(begin),
                                          lines.begin() + static_cast<std::ptrdiff_t>(end));
      lines.insert(lines.begin() + static_cast<std::ptrdiff_t>(end), copy.begin(), copy.end());
      break;
    }
    case 2: {  // lengthened
      const std::size_t line = begin + 1 + random() % (end - begin - 2);
      lines[line].insert(lines[line].find_first_not_of(' '),
                         "after " + std::to_string(1 + random() % 12) + " h ");
      break;
    }
    default: {  // a bring removed
      std::vector<std::size_t> brings;
      for (std::size_t i = 0; i < lines.size(); ++i) {
        if (lines[i].starts_with("    bring")) brings.push_back(i);
      }
      lines.erase(lines.begin() + static_cast<std::ptrdiff_t>(brings[random() % brings.size()]));
    }
  }
  return joined(lines);
}

bool holds(const std::string& path) {
  CompileOptions options;
  options.load = path;
  SourceFiles files;
  Diagnostics diagnostics;
  const auto compiled = compile(World(), options, files, diagnostics);
  return worst_exit(compiled, diagnostics) == ExitCode::Holds;
}

TEST(Mend, FourOfFiveGeneratedFaultsAreMended) {
  const char* given = std::getenv("CAIRN_MEND_FAULTS");
  const std::size_t wanted = given == nullptr ? 20 : static_cast<std::size_t>(std::atoi(given));
  const ProjectCopy project;
  const std::string path = project.path("loads/mending.cairn");
  write_text(path, base);
  ASSERT_TRUE(holds(path)) << "the load without a fault must hold";
  std::mt19937 random(2031);
  std::size_t faults = 0;
  std::size_t mended = 0;
  std::string left;
  for (std::size_t round = 0; faults < wanted && round < wanted * 20; ++round) {
    const std::string faulty = with_fault(random);
    write_text(path, faulty);
    if (holds(path)) continue;
    ++faults;
    CompileOptions options;
    options.load = path;
    SourceFiles files;
    Diagnostics diagnostics;
    const MendResult result =
        find_mends(World(), options, {.proposals = 1, .tries = 150}, files, diagnostics);
    EXPECT_FALSE(result.holds);
    if (result.proposals.empty()) {
      left += unified_patch("mending.cairn", base, faulty);
      continue;
    }
    write_text(path, result.proposals.front().text);
    EXPECT_TRUE(holds(path)) << result.proposals.front().words << "\n" << result.proposals.front().text;
    ++mended;
  }
  EXPECT_EQ(faults, wanted);
  EXPECT_GE(mended * 5, faults * 4) << mended << " of " << faults << "; left:\n" << left;
  RecordProperty("mended", std::to_string(mended) + " of " + std::to_string(faults));
}

// The first proposal of a kind, by how its words begin; it must hold.
std::string proposal_of(const std::string& load, std::string_view words) {
  const ProjectCopy project;
  const std::string path = project.path("loads/mending.cairn");
  write_text(path, load);
  EXPECT_FALSE(holds(path));
  CompileOptions options;
  options.load = path;
  SourceFiles files;
  Diagnostics diagnostics;
  const MendResult result = find_mends(World(), options, {.proposals = 30, .tries = 400}, files, diagnostics);
  for (const Proposal& proposal : result.proposals) {
    if (!proposal.words.starts_with(words)) continue;
    write_text(path, proposal.text);
    EXPECT_TRUE(holds(path)) << proposal.text;
    return proposal.text;
  }
  ADD_FAILURE() << "no proposal begins with " << words << " among " << result.proposals.size();
  return {};
}

TEST(Mend, AnotherPartOfTheSameKindCanStandIn) {
  const std::string mended = proposal_of(R"(rule ear-a-stays "the other one is noisy" {
  relay.receiver-a is not off
}

load "alder-61-ears" for alder {
  span 2031-05-10T00:00:00Z to 2031-05-11T00:00:00Z

  at 2031-05-10T09:00:00Z {
    send relay.receiver-a-off
    after 10 min send relay.receiver-a-on
  }
}
)",
                                         "use `receiver-b` instead of `receiver-a`");
  EXPECT_THAT(mended,
              ::testing::HasSubstr("send relay.receiver-b-off\n    after 10 min send relay.receiver-b-on"));
}

TEST(Mend, ABlockIsSplitOverWindows) {
  std::string load = R"(load "alder-62-many" for alder {
  span 2031-05-10T00:00:00Z to 2031-05-13T00:00:00Z

  at 2031-05-10T08:00:00Z {
)";
  for (int i = 0; i < 4; ++i)
    load += "    repeat 40 times {\n      after 1 min send keeper.time-report\n    }\n";
  load += "  }\n}\n";
  const std::string mended = proposal_of(load, "split `at 2031-05-10T08:00:00Z`");
  EXPECT_THAT(mended, ::testing::HasSubstr("  }\n  at 2031-05-1"));
}

TEST(Mend, AHoldingLoadNeedsNone) {
  const ProjectCopy project;
  CompileOptions options;
  options.load = project.path("loads/alder-41-evening.cairn");
  SourceFiles files;
  Diagnostics diagnostics;
  const MendResult result = find_mends(World(), options, {}, files, diagnostics);
  EXPECT_TRUE(result.holds);
  EXPECT_EQ(result.tried, 0U);
}

TEST(Patch, AppliesToWhatItWasMadeFrom) {
  EXPECT_EQ(unified_patch("a", "x\ny\n", "x\nz\ny\n"), "--- a/a\n+++ b/a\n@@ -1,0 +2,1 @@\n+z\n");
  EXPECT_EQ(unified_patch("a", "x\ny", "x\nz"),
            "--- a/a\n+++ b/a\n@@ -2,1 +2,1 @@\n-y\n\\ No newline at end of file\n+z\n\\ No newline at end "
            "of file\n");
  EXPECT_EQ(with_edits("abcdef", {{4, 4, "X"}, {1, 2, ""}}), "acdXef");
}

}  // namespace
}  // namespace cairn::test
