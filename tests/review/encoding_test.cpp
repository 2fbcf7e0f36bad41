// Forms of signatures against what is published about them.

#include "compiler/review/encoding.h"

#include <gtest/gtest.h>

#include "compiler/plan/digest.h"

namespace cairn {
namespace {

TEST(Base64, TestVectorsOfRfc4648Section10) {
  const std::pair<const char*, const char*> vectors[] = {{"", ""},
                                                         {"f", "Zg=="},
                                                         {"fo", "Zm8="},
                                                         {"foo", "Zm9v"},
                                                         {"foob", "Zm9vYg=="},
                                                         {"fooba", "Zm9vYmE="},
                                                         {"foobar", "Zm9vYmFy"}};
  for (const auto& [plain, coded] : vectors) {
    EXPECT_EQ(to_base64(plain), coded);
    EXPECT_EQ(from_base64(coded), plain);
  }
}

TEST(Base64, OneValueHasOneText) {
  for (const char* text :
       {"Zg", "Zg=", "Zh==", "Zm9=", "Z===", "====", "Zm 9v", "Zm9v\n", "Zg==Zg==", "Zm-_"}) {
    EXPECT_FALSE(from_base64(text)) << text;
  }
}

// The example of the DSSE protocol page (secure-systems-lab/dsse, protocol.md); the digest stands in our list
// of check values, computed with Python.
TEST(Dsse, PreAuthenticationEncodingOfThePublishedExample) {
  const std::string octets = pre_authentication_encoding("http://example.com/HelloWorld", "hello world");
  EXPECT_EQ(octets, "DSSEv1 29 http://example.com/HelloWorld 11 hello world");
  EXPECT_EQ(sha256(octets), "217751fac2c4f14edb2c9297fbc34abcb016ba88e74757e875ec4ac16fb6b6a1");
  EXPECT_EQ(pre_authentication_encoding("", ""), "DSSEv1 0  0 ");
  EXPECT_EQ(pre_authentication_encoding("\xc3\xa9", "{}"), "DSSEv1 2 \xc3\xa9 2 {}");
}

// OpenSSH, PROTOCOL.sshsig: magic, version 1, then five strings.
TEST(SshSignature, FieldsAreReadToTheLastOctet) {
  const auto field = [](const std::string& text) {
    return std::string("\0\0\0", 3) + static_cast<char>(text.size()) + text;
  };
  const std::string blob = std::string("SSHSIG\0\0\0\1", 10) + field("key") + field("cairn-plan") +
                           field("") + field("sha512") + field("sig");
  const auto read = read_ssh_signature(blob);
  ASSERT_TRUE(read);
  EXPECT_EQ(read->public_key, "key");
  EXPECT_EQ(read->name_space, "cairn-plan");
  EXPECT_EQ(read->hash, "sha512");
  EXPECT_FALSE(read_ssh_signature(blob + "x"));
  for (std::size_t length = 0; length < blob.size(); ++length)
    EXPECT_FALSE(read_ssh_signature(blob.substr(0, length)));
  EXPECT_EQ(signature_blob(armoured_signature(blob)), blob);
}

}  // namespace
}  // namespace cairn
