// Canonical JSON and digests against their standards' own examples.

#include "compiler/plan/canonical_json.h"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <cstdlib>
#include <random>

#include "compiler/plan/digest.h"

namespace cairn {
namespace {

// RFC 8785 appendix B: IEEE 754 patterns and their ECMAScript text.
TEST(CanonicalJson, NumbersOfTheStandardsAppendix) {
  const std::pair<std::uint64_t, const char*> rows[] = {{0x0000000000000000, "0"},
                                                        {0x8000000000000000, "0"},
                                                        {0x0000000000000001, "5e-324"},
                                                        {0x8000000000000001, "-5e-324"},
                                                        {0x7fefffffffffffff, "1.7976931348623157e+308"},
                                                        {0x4340000000000000, "9007199254740992"},
                                                        {0x4430000000000000, "295147905179352830000"},
                                                        {0x44b52d02c7e14af5, "9.999999999999997e+22"},
                                                        {0x44b52d02c7e14af6, "1e+23"},
                                                        {0x44b52d02c7e14af7, "1.0000000000000001e+23"},
                                                        {0x444b1ae4d6e2ef4e, "999999999999999700000"},
                                                        {0x444b1ae4d6e2ef4f, "999999999999999900000"},
                                                        {0x444b1ae4d6e2ef50, "1e+21"},
                                                        {0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7"},
                                                        {0x3eb0c6f7a0b5ed8d, "0.000001"},
                                                        {0x41b3de4355555553, "333333333.3333332"},
                                                        {0x41b3de4355555557, "333333333.33333343"},
                                                        {0xbecbf647612f3696, "-0.0000033333333333333333"},
                                                        {0x43143ff3c1cb0959, "1424953923781206.2"}};
  for (const auto& [bits, text] : rows) EXPECT_EQ(ecmascript_number(std::bit_cast<double>(bits)), text);
}

// RFC 8785 section 3.2.3: the order of keys.
TEST(CanonicalJson, KeysInUtf16Order) {
  Json::Object object;
  object["\xE2\x82\xAC"] = "Euro Sign";
  object["\r"] = "Carriage Return";
  object["\xEF\xAC\xB3"] = "Hebrew Letter Dalet With Dagesh";
  object["1"] = "One";
  object["\xF0\x9F\x98\x80"] = "Emoji: Grinning Face";
  object["\xC2\x80"] = "Control";
  object["\xC3\xB6"] = "Latin Small Letter O With Diaeresis";
  EXPECT_EQ(Json(object).canonical(),
            "{\"\\r\":\"Carriage Return\",\"1\":\"One\",\"\xC2\x80\":\"Control\",\"\xC3\xB6\":\"Latin Small "
            "Letter O "
            "With Diaeresis\",\"\xE2\x82\xAC\":\"Euro Sign\",\"\xF0\x9F\x98\x80\":\"Emoji: Grinning "
            "Face\",\"\xEF\xAC\xB3\":\"Hebrew Letter Dalet With Dagesh\"}");
}

TEST(CanonicalJson, NumbersReadBackAsThemselves) {
  std::mt19937_64 random(6);
  for (int i = 0; i < 50'000; ++i) {
    const auto value = std::bit_cast<double>(random());
    if (!std::isfinite(value)) continue;
    EXPECT_EQ(std::strtod(ecmascript_number(value).c_str(), nullptr), value);
  }
}

// FIPS 180-4 example: the digest of "abc".
TEST(Digest, PublishedExample) {
  EXPECT_EQ(sha256("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

}  // namespace
}  // namespace cairn
