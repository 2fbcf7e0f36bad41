// The plan of the lunation load, held against itself, its bytes, and a second computation.

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <memory>
#include <sstream>

#include "compiler/plan/digest.h"
#include "compiler/plan/read_plan.h"
#include "compiler/uplink/decoder/decoder.h"
#include "tests/command/project.h"

namespace cairn::test {
namespace {

namespace fs = std::filesystem;

const Run& lunation() {
  static const std::unique_ptr<Run> run =
      compile_load_file(source_path("examples/loads/alder-42-lunation.cairn"));
  return *run;
}

TEST(Plan, TheLunationLoadHolds) {
  ASSERT_TRUE(lunation().compiled.has_value());
  EXPECT_FALSE(lunation().diagnostics.has_errors());
  EXPECT_EQ(overall(lunation().compiled->results.findings), Verdict::Holds);
  EXPECT_GE(lunation().compiled->load.commands.size(), 300U);
  EXPECT_TRUE(lunation().compiled->translation.empty());
}

TEST(Plan, SameBytesOnTwoRunsAndInTwoFolders) {
  const auto again = compile_load_file(source_path("examples/loads/alder-42-lunation.cairn"));
  ASSERT_TRUE(again->compiled.has_value());
  EXPECT_EQ(again->compiled->plan, lunation().compiled->plan);

  const fs::path other = fs::temp_directory_path() / "cairn test, another folder";
  fs::remove_all(other);
  fs::create_directories(other);
  fs::copy(source_path("examples"), other / "copy", fs::copy_options::recursive);
  const auto moved = compile_load_file((other / "copy/loads/alder-42-lunation.cairn").string());
  ASSERT_TRUE(moved->compiled.has_value());
  EXPECT_EQ(moved->compiled->plan, lunation().compiled->plan);
  for (std::size_t i = 0; i < moved->compiled->staging.batches.size(); ++i) {
    EXPECT_EQ(moved->compiled->staging.batches[i].bytes, lunation().compiled->staging.batches[i].bytes);
  }
  fs::remove_all(other);
}

// Another way than the translation check: each packet's own sequence in the plan's hexadecimal text.
TEST(Plan, BytesDecodeToTheList) {
  const Compiled& compiled = *lunation().compiled;
  const auto plan = read_plan(compiled.plan);
  ASSERT_TRUE(plan.has_value()) << plan.error();
  ASSERT_EQ(plan->commands.size(), compiled.load.commands.size());
  std::size_t seen = 0;
  for (std::size_t w = 0; w < plan->windows.size(); ++w) {
    if (plan->windows[w].file.empty()) continue;
    const Batch* batch = nullptr;
    for (const Batch& candidate : compiled.staging.batches) {
      if (candidate.commands.front().value + 1 == plan->windows[w].commands.front()) batch = &candidate;
    }
    ASSERT_NE(batch, nullptr);
    EXPECT_EQ(batch->bytes.size(), plan->windows[w].bytes);
    const Decoded decoded = decode(batch->bytes, compiled.station.station, published_leap_seconds());
    ASSERT_TRUE(decoded.problems.empty());
    ASSERT_EQ(decoded.requests.size(), plan->windows[w].commands.size());
    for (std::size_t i = 0; i < decoded.requests.size(); ++i) {
      const PlanCommand& listed = plan->commands[plan->windows[w].commands[i] - 1];
      const DecodedRequest& request = decoded.requests[i];
      EXPECT_EQ(format_utc_exact(request.time, published_leap_seconds()), listed.time);
      EXPECT_EQ(full_name(compiled.station.station, request.command), listed.unit + "." + listed.name);
      const auto& definitions = compiled.station.station.commands[request.command].arguments;
      ASSERT_EQ(definitions.size(), listed.arguments.size());
      for (std::size_t a = 0; a < definitions.size(); ++a) {
        EXPECT_EQ(show_argument(definitions[a], request.arguments[a]), listed.arguments[a].value);
      }
      ++seen;
    }
  }
  EXPECT_EQ(seen, plan->commands.size());
}

// The next load begins where this one ends.
TEST(Plan, EndStateIsTheNextStart) {
  const Compiled& compiled = *lunation().compiled;
  const auto end = read_end_state(compiled.plan, compiled.station.station, published_leap_seconds());
  ASSERT_TRUE(end.has_value()) << end.error();
  EXPECT_EQ(end->start.parts, compiled.results.end_state.parts);
  EXPECT_EQ(end->start.heaters_on, compiled.results.end_state.heaters_on);
  EXPECT_EQ(end->start.once_spent, compiled.results.end_state.once_spent);
  for (std::size_t i = 0; i < end->start.temperatures.size(); ++i) {
    EXPECT_NEAR(end->start.temperatures[i], compiled.results.end_state.temperatures[i], 1e-6);
  }
  EXPECT_EQ(end->sequence_count, compiled.staging.next_sequence_count);
}

// A plan that is cut or changed anywhere is read as a plan or refused with a sentence; nothing else.
TEST(Plan, DamagedPlansAreRefusedWithASentence) {
  const std::string whole =
      compile_load_file(source_path("examples/loads/alder-41-evening.cairn"))->compiled->plan;
  for (std::size_t size = 0; size < whole.size(); size += whole.size() / 150) {
    const auto plan = read_plan(std::string_view(whole).substr(0, size));
    ASSERT_FALSE(plan.has_value());
    EXPECT_FALSE(plan.error().empty());
  }
  for (std::size_t i = 0; i < whole.size(); i += whole.size() / 80 + 1) {
    for (const char c : {'\0', '"', '}', '9', '\xFF'}) {
      std::string changed = whole;
      changed[i] = c;
      const auto plan = read_plan(changed);
      EXPECT_TRUE(plan.has_value() || !plan.error().empty());
    }
  }
  EXPECT_FALSE(read_plan(std::string(100'000, '[')).has_value());
}

}  // namespace
}  // namespace cairn::test
