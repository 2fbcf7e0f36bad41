// The strict reader against the library that reads plans elsewhere, and against what it must refuse.

#include "compiler/plan/read_json.h"

#include <gmock/gmock.h>

#include <nlohmann/json.hpp>
#include <random>

namespace cairn {
namespace {

using ::testing::HasSubstr;

TEST(ReadJson, KeepsEveryValue) {
  const std::string text = R"({"a":[1,-2.5,true,false,null,"é\u00e9\ud83d\ude00\n"],"b":{"c":1e3}})";
  const auto read = read_json(text);
  ASSERT_TRUE(read) << read.error();
  EXPECT_EQ(nlohmann::json::parse(read->canonical()), nlohmann::json::parse(text));
}

TEST(ReadJson, RefusesWithAPlace) {
  for (const auto& [text, why] : std::vector<std::pair<std::string, std::string>>{
           {"", "not JSON"},
           {"{", "a key is missing"},
           {"[1,]", "not JSON"},
           {"{\"a\":1,\"a\":2}", "given twice"},
           {"1e400", "no double"},
           {"01", "more text"},
           {"\"\\ud800\"", "half a character"},
           {"\"\xc0\x80\"", "no UTF-8"},
           {"\"\xed\xa0\x80\"", "no UTF-8"},
           {"\"\x01\"", "control character"},
           {"\"abc", "does not end"},
           {"[1] 2", "more text"},
           {"nul", "not JSON"},
           {std::string(65, '[') + std::string(65, ']'), "nested too deeply"}}) {
    const auto read = read_json(text);
    ASSERT_FALSE(read) << text;
    EXPECT_THAT(read.error(), HasSubstr(why)) << text;
    EXPECT_THAT(read.error(), HasSubstr("at byte ")) << text;
  }
  EXPECT_TRUE(read_json(std::string(64, '[') + std::string(64, ']')));
  EXPECT_THAT(read_json("[1,2,3]", {.bytes = 6}).error(), HasSubstr("larger than 6 bytes"));
}

TEST(ReadJson, AgreesWithTheLibraryOnSpoiltTexts) {
  const std::string good = R"({"a":[1,-2.5e-3,true,"x\u00e9"],"b":{"c":null,"d":"é"}})";
  std::mt19937 random(3);
  std::size_t refused = 0;
  for (int round = 0; round < 5000; ++round) {
    std::string text = good;
    text[random() % text.size()] = static_cast<char>(random() % 256);
    const auto read = read_json(text);
    const auto reference = nlohmann::json::parse(text, nullptr, false);
    if (!read && read.error().find("given twice") != std::string::npos) continue;
    EXPECT_EQ(read.has_value(), !reference.is_discarded()) << text;
    if (read) {
      EXPECT_EQ(nlohmann::json::parse(read->canonical()), reference) << text;
    }
    refused += read ? 0U : 1U;
  }
  EXPECT_GT(refused, 1000U);
}

}  // namespace
}  // namespace cairn
