// The station's list of entries, in both forms; what cannot be read is named with its line.

#include "compiler/review/reconcile/table_report.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace cairn {
namespace {

using ::testing::HasSubstr;

auto read(std::string_view text) { return read_table_report(text, published_leap_seconds()); }

TEST(TableReport, BothForms) {
  const auto table = read("sequence_count,time\n7,2031-05-14T06:00:00Z\n9,\n");
  const auto lines =
      read("{\"sequence_count\": 7, \"time\": \"2031-05-14T06:00:00Z\"}\n{\"sequence_count\": 9}\n");
  ASSERT_TRUE(table) << table.error();
  ASSERT_TRUE(lines) << lines.error();
  for (const auto* found : {&*table, &*lines}) {
    ASSERT_EQ(found->size(), 2U);
    EXPECT_EQ((*found)[0].sequence_count, 7);
    EXPECT_EQ((*found)[0].time, parse_utc("2031-05-14T06:00:00Z", published_leap_seconds()).value());
    EXPECT_EQ((*found)[1].sequence_count, 9);
    EXPECT_FALSE((*found)[1].time);
  }
  EXPECT_TRUE(read("sequence_count,time\n")->empty());
}

TEST(TableReport, EachMistakeIsNamed) {
  const struct {
    const char* text;
    const char* message;
  } rows[] = {
      {" \n", "it is empty"},
      {"sequence_count\n7\n8\n7\n", "line 4: entry 7 is listed twice"},
      {"sequence_count,time\n7,noon\n", "line 2: `time` is `noon`"},
      {"sequence_count,times\n7,noon\n",
       "line 2: `times` is no column of a table entry: there are "
       "sequence_count, time and detail"},
      {"sequence_count,sequence_count\n7,8\n", "line 1: the column `sequence_count` is named twice"},
      {"time\n2031-05-14T06:00:00Z\n", "line 2: `sequence_count` is ``"},
  };
  for (const auto& row : rows) {
    const auto found = read(row.text);
    ASSERT_FALSE(found) << row.text;
    EXPECT_THAT(found.error(), HasSubstr(row.message));
  }
}

}  // namespace
}  // namespace cairn
