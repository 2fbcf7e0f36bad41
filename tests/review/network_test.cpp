// Antenna conflicts against a slow second way; the cache only as long as everything is the same.

#include "compiler/review/network.h"

#include <gmock/gmock.h>

#include <random>
#include <set>

namespace cairn {
namespace {

using ::testing::HasSubstr;

std::string minute(std::size_t value) {
  return "2031-05-01T" + std::string(value < 600 ? "0" : "") + std::to_string(value / 60) + ":" +
         std::string(value % 60 < 10 ? "0" : "") + std::to_string(value % 60) + ":00Z";
}

NetworkLoad load(const std::string& file, std::vector<Transmission> transmissions) {
  NetworkLoad made;
  made.file = file;
  made.name = file;
  made.station = file;
  made.begin = "2031-05-02T00:00:00Z";
  made.end = "2031-05-03T00:00:00Z";
  made.verdict = "holds";
  made.transmissions = std::move(transmissions);
  return made;
}

TEST(Antennas, ConflictsAreThoseThatTryingAllPairsFinds) {
  std::mt19937 random(11);
  std::size_t seen = 0;
  for (int round = 0; round < 300; ++round) {
    std::vector<NetworkLoad> loads;
    for (int i = 0; i < 4; ++i) {
      std::vector<Transmission> rows;
      for (std::size_t j = random() % 4; j > 0; --j) {
        const std::size_t begin = random() % 200;
        rows.push_back({random() % 2 == 0 ? "west-dish" : "east-dish", "", minute(begin),
                        minute(begin + 1 + random() % 20)});
      }
      loads.push_back(load(std::to_string(i), rows));
    }
    std::multiset<std::string> expected;
    for (std::size_t i = 0; i < loads.size(); ++i) {
      for (std::size_t j = i + 1; j < loads.size(); ++j) {
        for (const Transmission& a : loads[i].transmissions) {
          for (const Transmission& b : loads[j].transmissions) {
            // All times are of one form here, so that they sort as text.
            const std::string begin = std::max(a.begin, b.begin);
            const std::string end = std::min(a.end, b.end);
            if (a.antenna == b.antenna && begin < end)
              expected.insert(std::to_string(i) + std::to_string(j) + a.antenna + begin + end);
          }
        }
      }
    }
    std::multiset<std::string> found;
    for (const AntennaConflict& conflict : antenna_conflicts(loads))
      found.insert(std::to_string(conflict.first) + std::to_string(conflict.second) + conflict.antenna +
                   conflict.begin + conflict.end);
    EXPECT_EQ(found, expected) << "round " << round;
    seen += expected.size();
  }
  EXPECT_GT(seen, 100U);
}

TEST(Antennas, OneAfterTheOtherIsNoConflict) {
  EXPECT_TRUE(antenna_conflicts({load("a", {{"w", "", minute(0), minute(5)}}),
                                 load("b", {{"w", "", minute(5), minute(9)}})})
                  .empty());
}

TEST(Network, SpansOfOneStationMustNotOverlap) {
  NetworkLoad a = load("a", {});
  NetworkLoad b = load("b", {});
  EXPECT_TRUE(overlapping_spans({a, b}).empty());
  b.station = "a";
  EXPECT_EQ(overlapping_spans({a, b}).size(), 1U);
  b.begin = a.end;
  b.end = "2031-05-04T00:00:00Z";
  EXPECT_TRUE(overlapping_spans({a, b}).empty());
}

TEST(Network, TextNamesWhatIsWrong) {
  NetworkLoad broken;
  broken.file = "c.cairn";
  broken.problem = "syntax/unexpected: something";
  const std::string text = network_text(
      {load("a", {{"w", "", minute(0), minute(5)}}), load("b", {{"w", "", minute(2), minute(9)}}), broken},
      false);
  EXPECT_THAT(
      text,
      HasSubstr(
          "conflict: `a` and `b` both transmit over w from 2031-05-01T00:02:00Z to 2031-05-01T00:05:00Z"));
  EXPECT_THAT(text, HasSubstr("syntax/unexpected"));
}

TEST(NetworkCache, IsReadBackOnlyUnderTheSameKey) {
  const std::vector<NetworkLoad> loads{load("a", {{"w", "", minute(0), minute(5)}})};
  const std::string cache = network_cache(loads, "key");
  EXPECT_EQ(read_network_cache(cache, "key"), loads);
  EXPECT_TRUE(read_network_cache(cache, "other").empty());
  EXPECT_TRUE(read_network_cache("{}", "key").empty());
  EXPECT_TRUE(read_network_cache(cache.substr(1), "key").empty());
}

}  // namespace
}  // namespace cairn
