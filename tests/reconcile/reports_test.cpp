// Verification reports in both forms, and each mistake named with its line.

#include "compiler/review/reconcile/reports.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace cairn {
namespace {

using ::testing::HasSubstr;

TEST(Reports, BothFormsSayTheSame) {
  const auto table = read_reports(
      "stage,sequence_count, outcome,detail\r\nacceptance,7,success,\r\n\r\ncompletion,8,failure,too "
      "hot\r\n");
  const auto lines = read_reports(
      "{\"sequence_count\": 7, \"stage\": \"acceptance\", \"outcome\": \"success\", \"detail\": null}\n"
      "{\"sequence_count\": \"8\", \"stage\": \"completion\", \"outcome\": \"failure\", \"detail\": \"too "
      "hot\"}\n");
  ASSERT_TRUE(table) << table.error();
  ASSERT_TRUE(lines) << lines.error();
  ASSERT_EQ(table->size(), 2U);
  ASSERT_EQ(lines->size(), 2U);
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_EQ((*table)[i].sequence_count, (*lines)[i].sequence_count);
    EXPECT_EQ((*table)[i].stage, (*lines)[i].stage);
    EXPECT_EQ((*table)[i].is_success, (*lines)[i].is_success);
    EXPECT_EQ((*table)[i].detail, (*lines)[i].detail);
  }
  EXPECT_TRUE(read_reports("")->empty());
}

TEST(Reports, EachMistakeIsNamed) {
  const struct {
    const char* text;
    const char* message;
  } rows[] = {
      {"sequence_count,stage,outcome\n7,acceptance\n", "line 2: it has 2 values, the first line names 3"},
      {"sequence_count,stage,outcome\n16384,start,success\n", "line 2: `sequence_count` is `16384`"},
      {"sequence_count,stage,outcome\n\n-1,start,success\n", "line 3: `sequence_count` is `-1`"},
      {"sequence_count,stage,outcome\n7,accepted,success\n", "line 2: `stage` is `accepted`"},
      {"sequence_count,stage,outcome\n7,start,yes\n", "line 2: `outcome` is `yes`"},
      {"sequence_count,stage,result\n7,start,success\n", "`result` is no column"},
      {"{\"sequence_count\": 7\n", "line 1: it is no JSON object"},
      {"{\"sequence_count\": 7.5}\n", "neither text nor a whole number"},
      {"{}\n[]\n", "line 1: `sequence_count` is ``"},
  };
  for (const auto& row : rows) {
    const auto reports = read_reports(row.text);
    ASSERT_FALSE(reports) << row.text;
    EXPECT_THAT(reports.error(), HasSubstr(row.message));
  }
}

}  // namespace
}  // namespace cairn
