// Every way in which a folder may have been changed ends in a rule of its own, so that the refusal names the
// change.

#include "compiler/review/verify_plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "compiler/plan/digest.h"
#include "compiler/plan/read_json.h"
#include "compiler/review/encoding.h"
#include "compiler/review/json_view.h"
#include "constraints/quantity/leap_seconds.h"

namespace cairn {

namespace {

constexpr std::string_view signatures_folder = "signatures/";

std::size_t first_difference(std::string_view a, std::string_view b) {
  return static_cast<std::size_t>(std::mismatch(a.begin(), a.end(), b.begin(), b.end()).first - a.begin());
}

struct NamedFile {
  std::string name;
  std::string sha256;
  std::size_t bytes = 0;
};

// The files that plan.json names, or why it is no plan.
std::expected<std::vector<NamedFile>, std::string> named_files(const std::string& json) {
  const auto parsed = read_json(json);
  if (!parsed) return std::unexpected(parsed.error());
  std::string error;
  const JsonView whole(*parsed, "", error);
  if (whole.at("format").text() != "cairn-plan") whole.fail("this is no plan of Cairn's");
  std::vector<NamedFile> files;
  const auto take = [&files](const JsonView& file) {
    files.push_back({file.at("file").text(), file.at("sha256").text(), file.at("bytes").count()});
  };
  whole.at("windows").each([&](const JsonView& window) {
    if (!window.at("batch").is_null()) take(window.at("batch"));
  });
  take(whole.at("backout"));
  if (!error.empty()) return std::unexpected(error);
  if (parsed->canonical() != json)
    return std::unexpected(fmt::format("it is not in canonical form from octet {} on",
                                       first_difference(parsed->canonical(), json)));
  return files;
}

class SignatureCheck {
 public:
  SignatureCheck(const PlanFolder& folder, const PolicyFile& policy, const SignatureJudge& judge, Instant now)
      : folder_(folder), policy_(policy), judge_(judge), now_(now), subjects_(subjects_of(folder)) {}

  GateFindings all() {
    for (const auto& [path, text] : folder_.files) {
      if (path.starts_with(signatures_folder)) one(path, text);
    }
    apart();
    needed();
    return std::move(findings_);
  }

 private:
  struct Accepted {
    std::string role;
    std::string person;
    std::string key;
  };

  void one(const std::string& path, const std::string& text) {
    const auto envelope = read_envelope(text);
    if (!envelope) return refuse(findings_, "signature/unreadable", path, envelope.error());
    const auto signature = read_ssh_signature(envelope->signature);
    if (!signature)
      return refuse(findings_, "signature/unreadable", path, "its signature is not one of OpenSSH's");
    const auto statement = read_statement(envelope->payload);
    if (!statement) return refuse(findings_, "signature/unreadable", path, statement.error());
    if (envelope->person != statement->person || path != signature_file(statement->role, statement->person)) {
      return refuse(findings_, "signature/misplaced", path,
                    fmt::format("it is the signature of `{}` as `{}`", statement->person, statement->role));
    }
    if (!subjects_agree(path, *statement) || !time_agrees(path, *statement)) return;
    if (statement->policy_sha256 != policy_.sha256) {
      return refuse(findings_, "signature/other-policy", path,
                    "it was made under another text of the policy");
    }
    const PolicyRole* role = policy_.policy.role(statement->role);
    if (role == nullptr) {
      return refuse(findings_, "signature/unknown-role", path,
                    fmt::format("the policy has no role `{}`", statement->role));
    }
    if (!role->people.contains(statement->person)) {
      return refuse(
          findings_, "signature/not-in-role", path,
          fmt::format("the policy does not let `{}` act as `{}`", statement->person, statement->role));
    }
    if (signature->name_space != signature_namespace) {
      return refuse(
          findings_, "signature/other-namespace", path,
          fmt::format("it was made for `{}`, not for `{}`", signature->name_space, signature_namespace));
    }
    const auto judged = judge_.judge(policy_.signers, statement->person, signed_octets(*envelope),
                                     armoured_signature(envelope->signature), now_);
    if (!judged) return judged_badly(path, judged.error());
    for (const Accepted& other : accepted_) {
      if (other.role == statement->role && other.key == signature->public_key) {
        return refuse(findings_, "signature/doubled", path,
                      fmt::format("the key of `{}` has signed as `{}` already", other.person, other.role));
      }
    }
    accepted_.push_back({statement->role, statement->person, signature->public_key});
    findings_.push_back(
        {"signature/good", true,
         fmt::format("`{}` signed as `{}` on {}", statement->person, statement->role, statement->time),
         path});
  }

  bool subjects_agree(const std::string& path, const Approval& statement) {
    if (statement.subjects == subjects_) return true;
    const auto plan = statement.subjects.find("plan.json");
    if (plan == statement.subjects.end() || plan->second != subjects_.find("plan.json")->second) {
      refuse(findings_, "signature/other-plan", path, "it is about another plan");
      return false;
    }
    refuse(findings_, "signature/other-files", path,
           "the plan is the one it speaks of, but other files of the folder are not");
    return false;
  }

  bool time_agrees(const std::string& path, const Approval& statement) {
    const auto time = parse_utc(statement.time, published_leap_seconds());
    if (!time) {
      refuse(findings_, "signature/unreadable", path, "its time is no instant");
      return false;
    }
    // A clock that was set back would let windows and waivers that are over look as if they were not.
    if (*time > now_) {
      refuse(findings_, "signature/from-the-future", path,
             fmt::format("it was made at {}, which is still to come: see that the clock is right",
                         statement.time));
      return false;
    }
    return true;
  }

  void judged_badly(const std::string& path, const SignatureJudge::Problem& problem) {
    switch (problem.refusal) {
      case SignatureJudge::Refusal::NotTheirs:
        return refuse(findings_, "signature/unknown-key", path, problem.sentence);
      case SignatureJudge::Refusal::Expired:
        return refuse(findings_, "signature/expired-key", path, problem.sentence);
      case SignatureJudge::Refusal::Wrong:
        return refuse(findings_, "signature/wrong", path, problem.sentence);
      case SignatureJudge::Refusal::CannotRun:
        return refuse(findings_, "signature/cannot-judge", path, problem.sentence);
    }
  }

  void apart() {
    for (const auto& [first, second] : policy_.policy.apart) {
      for (const Accepted& a : accepted_) {
        for (const Accepted& b : accepted_) {
          if (a.role != first || b.role != second || (a.person != b.person && a.key != b.key)) continue;
          refuse(findings_, "policy/apart", "",
                 a.person == b.person
                     ? fmt::format("`{}` signed as `{}` and as `{}`", a.person, first, second)
                     : fmt::format("`{}` signed as `{}` and `{}` as `{}` with one key", a.person, first,
                                   b.person, second));
        }
      }
    }
  }

  void needed() {
    const auto plan = folder_.files.find("plan.json");
    if (plan == folder_.files.end()) return;
    for (const auto& [role, reason] : needed_roles(policy_.policy, plan->second)) {
      std::set<std::string> people;
      for (const Accepted& accepted : accepted_) {
        if (accepted.role == role) people.insert(accepted.person);
      }
      const std::size_t count = policy_.policy.role(role)->count;
      if (people.size() >= count) {
        findings_.push_back({"policy/role", true, fmt::format("`{}` has signed: {}", role, reason), ""});
      } else {
        refuse(findings_, "policy/role", "",
               fmt::format("`{}` must sign: {}; found {} of {} good signatures", role, reason, people.size(),
                           count));
      }
    }
  }

  const PlanFolder& folder_;
  const PolicyFile& policy_;
  const SignatureJudge& judge_;
  Instant now_;
  std::map<std::string, std::string> subjects_;
  std::vector<Accepted> accepted_;
  GateFindings findings_;
};

}  // namespace

GateFindings verify_files(const PlanFolder& folder, const Views& views) {
  GateFindings findings;
  for (const auto& [path, why] : folder.refused) refuse(findings, "file/not-plain", path, why);
  const auto plan = folder.files.find("plan.json");
  if (plan == folder.files.end()) {
    refuse(findings, "file/missing", "plan.json", "the folder has no plan.json");
    return findings;
  }
  const auto named = named_files(plan->second);
  if (!named) {
    refuse(findings, "plan/unreadable", "plan.json", named.error());
    return findings;
  }
  std::set<std::string> known{"plan.json"};
  // `found` says in words how a text is another; empty: it is the right one.
  const auto compare = [&](const std::string& name, const auto& found) {
    known.insert(name);
    const auto file = folder.files.find(name);
    if (file == folder.files.end()) {
      if (!folder.refused.contains(name))
        refuse(findings, "file/missing", name, "plan.json names it, and it is not there");
    } else if (std::string sentence = found(file->second); !sentence.empty()) {
      refuse(findings, "file/changed", name, std::move(sentence));
    }
  };
  for (const NamedFile& file : *named) {
    compare(file.name, [&](const std::string& text) {
      if (text.size() != file.bytes)
        return fmt::format("it has {} bytes, and plan.json says {}", text.size(), file.bytes);
      const std::string digest = sha256(text);
      return digest == file.sha256
                 ? std::string()
                 : fmt::format("its SHA-256 is {}, and plan.json says {}", digest, file.sha256);
    });
  }
  for (const auto& [name, view] : views) {
    compare(name, [&text_of_view = view](const std::string& text) {
      return text == text_of_view ? std::string()
                                  : fmt::format("from octet {} on it does not show what plan.json says",
                                                first_difference(text_of_view, text));
    });
  }
  for (const auto& [path, text] : folder.files) {
    if (!known.contains(path) && !path.starts_with(signatures_folder))
      refuse(findings, "file/unknown", path, "nothing in plan.json names it");
  }
  if (findings.empty()) {
    findings.push_back(
        {"file/whole", true, fmt::format("all {} files are those of the plan", known.size()), ""});
  }
  return findings;
}

GateFindings verify_signatures(const PlanFolder& folder, const PolicyFile& policy,
                               const SignatureJudge& judge, Instant now) {
  return SignatureCheck(folder, policy, judge, now).all();
}

std::map<std::string, std::string> subjects_of(const PlanFolder& folder) {
  std::map<std::string, std::string> subjects;
  for (const auto& [path, text] : folder.files) {
    if (!path.starts_with(signatures_folder)) subjects[path] = sha256(text);
  }
  subjects.try_emplace("plan.json");
  return subjects;
}

std::map<std::string, std::string> needed_roles(const Policy& policy, const std::string& plan_json) {
  std::map<std::string, std::string> needed;
  std::set<std::string> classes;
  std::set<std::string> verdicts;
  bool waived = false;
  std::string error;
  if (const auto parsed = read_json(plan_json)) {
    const JsonView whole(*parsed, "", error);
    whole.at("commands").each([&](const JsonView& command) { classes.insert(command.at("class").text()); });
    whole.at("checks").each([&](const JsonView& check) { verdicts.insert(check.at("verdict").text()); });
    const JsonView waivers = whole.maybe("waivers");
    if (!waivers.is_null()) waivers.each([&](const JsonView&) { waived = true; });
  }
  for (const PolicyRole& role : policy.roles) {
    std::string reason = role.always ? "always" : "";
    const auto add = [&reason](const std::string& words) { reason += (reason.empty() ? "" : ", ") + words; };
    for (const std::string& word : role.classes) {
      if (classes.contains(word)) add(fmt::format("the plan has {} commands", word));
    }
    for (const std::string& word : role.verdicts) {
      if (verdicts.contains(word)) add(fmt::format("a check answers {}", word));
    }
    if (role.waivers && waived) add("the plan has waivers");
    if (!reason.empty()) needed.emplace(role.name, reason);
  }
  return needed;
}

}  // namespace cairn
