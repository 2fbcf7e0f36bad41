// A plan of the example project, built, and signed with keys made for the test by ssh-keygen itself.

#pragma once

#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <filesystem>
#include <map>
#include <string>

#include "compiler/command/open_ssh.h"
#include "compiler/command/plan_folder.h"
#include "compiler/plan/digest.h"
#include "compiler/review/encoding.h"
#include "compiler/review/gate.h"
#include "constraints/quantity/leap_seconds.h"
#include "tests/review/project_copy.h"

namespace cairn::test {

inline Instant at(const std::string& utc) { return *parse_utc(utc, published_leap_seconds()); }

// Keys of the people of examples/review/policy.yaml, and of a stranger.
class Keys {
 public:
  Keys() {
    std::string pattern = (std::filesystem::temp_directory_path() / "cairn-keys-XXXXXX").string();
    folder_ = ::mkdtemp(pattern.data());
    for (const char* person : {"ann", "bob", "cleo", "dora", "eve", "late"}) {
      make(person);
      public_[person] = file_text(folder_ / (std::string(person) + ".pub"));
    }
  }
  Keys(const Keys&) = delete;
  Keys& operator=(const Keys&) = delete;
  ~Keys() { std::filesystem::remove_all(folder_); }

  [[nodiscard]] std::string path(const std::string& person) const { return (folder_ / person).string(); }
  // One line of a file of signers.
  [[nodiscard]] std::string line(
      const std::string& identity, const std::string& owner,
      const std::string& options = "valid-after=\"20310101Z\",valid-before=\"20320101Z\"") const {
    const std::string& key = public_.at(owner);
    return identity + " " + options + ",namespaces=\"cairn-plan\" " +
           key.substr(0, key.find(' ', key.find(' ') + 1)) + "\n";
  }
  [[nodiscard]] std::string signers() const {
    std::string text;
    for (const char* person : {"ann", "bob", "cleo", "dora"}) text += line(identity(person), person);
    return text;
  }
  static std::string identity(const std::string& person) { return person + "@tarn-ridge.example"; }

 private:
  void make(const std::string& person) const {
    const pid_t child = ::fork();
    if (child == 0) {
      ::execlp("ssh-keygen", "ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", person.c_str(), "-f",
               path(person).c_str(), nullptr);
      ::_exit(127);
    }
    int status = 0;
    ::waitpid(child, &status, 0);
    ASSERT_EQ(status, 0) << "ssh-keygen is needed";
  }
  std::filesystem::path folder_;
  std::map<std::string, std::string> public_;
};

inline PolicyFile policy_of(const std::string& text, const std::string& signers) {
  SourceFiles files;
  Diagnostics diagnostics;
  const FileId file = files.add("policy.yaml", text);
  auto policy = read_policy(files, file, diagnostics);
  std::string problems;
  for (const Diagnostic& diagnostic : diagnostics.all()) problems += diagnostic.message + "\n";
  EXPECT_TRUE(policy) << problems;
  return {policy.value_or(Policy{}), sha256(text), signers};
}

// The folder as `cairn build` writes it.
inline PlanFolder built(const std::string& load, const std::string& after = "") {
  PlanFolder folder;
  CompileOptions options;
  options.load = load;
  options.after = after;
  SourceFiles files;
  Diagnostics diagnostics;
  const auto compiled = compile(World(), options, files, diagnostics);
  EXPECT_TRUE(compiled);
  if (!compiled) return folder;
  folder.files["plan.json"] = compiled->plan;
  for (const auto& [name, view] : views_of(compiled->plan)) folder.files[name] = view;
  for (std::size_t i = 0; i < compiled->staging.batches.size(); ++i) {
    const Bytes& bytes = compiled->staging.batches[i].bytes;
    folder.files[batch_file(compiled->station.station, compiled->staging, i)] =
        std::string(bytes.begin(), bytes.end());
  }
  const Bytes& backout = compiled->staging.backout;
  folder.files[std::string(backout_file)] = std::string(backout.begin(), backout.end());
  return folder;
}

struct Signing {
  std::string role;
  std::string person;
  std::string key;  // whose key signs
  std::string time = "2031-04-20T12:00:00Z";
};

inline void sign(PlanFolder& folder, const PolicyFile& policy, const Keys& keys, const Signing& signing) {
  Approval statement;
  statement.role = signing.role;
  statement.person = Keys::identity(signing.person);
  statement.time = signing.time;
  statement.policy_sha256 = policy.sha256;
  statement.load = load_of(folder.files.at("plan.json"));
  statement.station = "alder";
  statement.verdict = "holds";
  statement.subjects = subjects_of(folder);
  Envelope envelope;
  envelope.person = statement.person;
  envelope.payload = statement_json(statement);
  const auto armoured = OpenSsh::sign(keys.path(signing.key), signed_octets(envelope));
  ASSERT_TRUE(armoured) << armoured.error();
  const auto blob = signature_blob(*armoured);
  ASSERT_TRUE(blob);
  envelope.signature = *blob;
  folder.files[signature_file(signing.role, statement.person)] = envelope_json(envelope);
}

}  // namespace cairn::test
