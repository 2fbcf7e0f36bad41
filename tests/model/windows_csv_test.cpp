// Windows from a table with commas: the same as from the list, and each mistake told at its place.

#include <gtest/gtest.h>

#include "tests/model/sample.h"

namespace cairn {
namespace {

void load_table(samples::Result& result, const std::string& table) {
  samples::load(result, {{"docs/diagnostics/example.yaml", "include: [base-station.yaml, passes.csv]\n"},
                         {"docs/diagnostics/passes.csv", table}});
}

TEST(WindowsTable, GivesWhatTheListGives) {
  samples::Result by_table;
  load_table(by_table,
             "closes, antenna ,opens\r\n2031-05-15T05:00:00Z,east-dish,2031-05-15T04:00:00Z\r\n\r\n"
             "2031-05-13T05:00:00Z, west-dish, 2031-05-13T04:00:00.5Z\r\n");
  ASSERT_TRUE(by_table.loaded) << by_table.rendered();
  samples::Result by_list;
  samples::load_over(
      by_list,
      "windows:\n"
      "  - {antenna: east-dish, opens: \"2031-05-15T04:00:00Z\", closes: \"2031-05-15T05:00:00Z\"}\n"
      "  - {antenna: west-dish, opens: \"2031-05-13T04:00:00.5Z\", closes: \"2031-05-13T05:00:00Z\"}\n");
  ASSERT_TRUE(by_list.loaded) << by_list.rendered();
  const auto& table = by_table.loaded->station.windows;
  const auto& list = by_list.loaded->station.windows;
  ASSERT_EQ(table.size(), 3U);
  ASSERT_EQ(list.size(), table.size());
  for (std::size_t i = 0; i < table.size(); ++i) {
    EXPECT_EQ(table[table.id_at(i)].opens, list[list.id_at(i)].opens);
    EXPECT_EQ(table[table.id_at(i)].closes, list[list.id_at(i)].closes);
    EXPECT_EQ(by_table.loaded->station.antennas[table[table.id_at(i)].antenna].name,
              by_list.loaded->station.antennas[list[list.id_at(i)].antenna].name);
  }
}

TEST(WindowsTable, EachMistakeHasItsPlace) {
  const struct {
    const char* table;
    const char* code;
    const char* place;
  } rows[] = {
      {"antenna,opens\n", "model/missing-key", "antenna"},
      {"", "model/missing-key", ""},
      {"antenna,opens,closes,band\n", "model/unknown-key", "band"},
      {"antenna,opens,closes\nwest,2031-05-15T04:00:00Z\n", "model/wrong-kind", "west,2031-05-15T04:00:00Z"},
      {"antenna,opens,closes\nwest,2031-05-15T04:00,2031-05-15T05:00:00Z\n", "model/bad-instant",
       "2031-05-15T04:00"},
      {"antenna,opens,closes\nwest b,2031-05-15T04:00:00Z,2031-05-15T05:00:00Z\n", "model/reserved-name",
       "west b"},
      {"antenna,opens,closes\nwest,2031-05-15T04:00:00Z,2031-05-15T04:00:00Z\n", "model/windows",
       "2031-05-15T04:00:00Z"},
  };
  for (const auto& row : rows) {
    samples::Result result;
    load_table(result, row.table);
    EXPECT_FALSE(result.loaded) << row.table;
    const Diagnostic* found = result.first(row.code);
    ASSERT_NE(found, nullptr) << row.table << result.rendered();
    EXPECT_EQ(result.files.text(found->primary), row.place) << row.table;
  }
}

// The columns tell that it is a table of the sky.
TEST(SkyTable, GivesWhatTheListGives) {
  samples::Result result;
  load_table(result,
             "light_time,time,sun_elevation,sun_azimuth,sun_distance,earth_elevation,earth_azimuth\n"
             "1.25 s,2031-05-01T00:00:00Z,-3.5 deg,80 deg,1.51e8 km,45 deg,301 deg\n"
             "1.5 s,2031-05-02T00:00:00Z,4 deg,79 deg,1.52e8 km,44 deg,300 deg\n");
  ASSERT_TRUE(result.loaded) << result.rendered();
  const std::vector<SkyRow>& rows = result.loaded->station.site.sky;
  ASSERT_EQ(rows.size(), 2U);
  constexpr double degree = 3.14159265358979323846 / 180;
  EXPECT_DOUBLE_EQ(rows[0].sun_elevation, -3.5 * degree);
  EXPECT_DOUBLE_EQ(rows[1].sun_distance, 1.52e11);
  EXPECT_DOUBLE_EQ(rows[1].earth_distance, 1.5 * 299792458.0);
  samples::Result wrong;
  load_table(wrong, "time,sun_elevation,sun_azimuth\n");
  EXPECT_FALSE(wrong.loaded);
  EXPECT_TRUE(wrong.has("model/missing-key")) << wrong.rendered();
}

}  // namespace
}  // namespace cairn
