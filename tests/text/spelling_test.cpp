// Near spellings: found when near, silent when not.

#include "compiler/text/spelling.h"

#include <gtest/gtest.h>

#include <vector>

namespace cairn {
namespace {

std::optional<std::string> nearest(std::string_view word, const std::vector<std::string>& candidates) {
  return nearest_word(word, candidates);
}

const std::vector<std::string> units{"camera", "probe", "dust", "vane", "relay", "release", "tilt", "keeper"};

TEST(Spelling, FindsASlip) {
  EXPECT_EQ(nearest("camra", units), "camera");    // left out
  EXPECT_EQ(nearest("cammera", units), "camera");  // doubled
  EXPECT_EQ(nearest("camere", units), "camera");   // changed
  EXPECT_EQ(nearest("caemra", units), "camera");   // swapped
  EXPECT_EQ(nearest("porbe", units), "probe");
  EXPECT_EQ(nearest("relai", units), "relay");
}

TEST(Spelling, ASwapIsOneSlipNotTwo) {
  // Four letters allow one slip.
  EXPECT_EQ(nearest("vnae", units), "vane");
  EXPECT_EQ(nearest("vean", {"xvan", "vena"}), "vena");
}

TEST(Spelling, SilentWhenNothingIsNear) {
  EXPECT_EQ(nearest("spectrometer", units), std::nullopt);
  EXPECT_EQ(nearest("xyz", units), std::nullopt);
  EXPECT_EQ(nearest("", units), std::nullopt);
  EXPECT_EQ(nearest("camera", {}), std::nullopt);
  EXPECT_EQ(nearest("a", {"b"}), std::nullopt);  // everything would be near
}

TEST(Spelling, TheWordItselfIsNoSuggestion) { EXPECT_EQ(nearest("camera", {"camera"}), std::nullopt); }

TEST(Spelling, TheNearestWinsAndTiesGoToTheFirst) {
  EXPECT_EQ(nearest("releas", units), "release");
  EXPECT_EQ(nearest("bat", {"cat", "hat"}), "cat");
  EXPECT_EQ(nearest("bat", {"hat", "cat"}), "hat");
}

TEST(Spelling, LongWordsCostNothing) {
  EXPECT_EQ(nearest(std::string(100000, 'a'), units), std::nullopt);
  EXPECT_EQ(nearest("camra", {std::string(100000, 'a'), "camera"}), "camera");
}

}  // namespace
}  // namespace cairn
