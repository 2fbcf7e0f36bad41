// cairn sign, cairn verify: who stands behind a plan.

#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>

#include "compiler/command/gate_answer.h"
#include "compiler/command/open_ssh.h"
#include "compiler/command/plan_folder.h"
#include "compiler/command/review_commands.h"
#include "compiler/plan/read_json.h"
#include "compiler/review/encoding.h"
#include "compiler/review/json_view.h"
#include "compiler/text/catalogue.h"
#include "constraints/quantity/leap_seconds.h"

namespace cairn {

namespace {

namespace fs = std::filesystem;

// Why this person must not sign this plan in this role; empty: they may.
std::string reason_against(const PlanFolder& folder, const Policy& policy, const SignOptions& options) {
  const PolicyRole* role = policy.role(options.role);
  if (role == nullptr) return fmt::format("the policy has no role `{}`", options.role);
  if (!role->people.contains(options.person))
    return fmt::format("the policy does not let `{}` act as `{}`", options.person, options.role);
  for (const auto& [first, second] : policy.apart) {
    const std::string other = options.role == first ? second : options.role == second ? first : std::string();
    if (!other.empty() && folder.files.contains(signature_file(other, options.person)))
      return fmt::format("`{}` signed as `{}`, which the policy keeps apart from `{}`", options.person, other,
                         options.role);
  }
  return {};
}

Approval statement_about(const PlanFolder& folder, const PolicyFile& policy, const SignOptions& options,
                         Instant now) {
  Approval statement;
  statement.role = options.role;
  statement.person = options.person;
  statement.time = format_utc(now, published_leap_seconds());
  statement.policy_sha256 = policy.sha256;
  statement.subjects = subjects_of(folder);
  std::string error;
  if (const auto parsed = read_json(plan_in(folder))) {
    const JsonView whole(*parsed, "", error);
    statement.load = whole.at("load").at("name").text();
    statement.station = whole.at("load").at("station").text();
    statement.verdict = whole.at("verdict").text();
  }
  return statement;
}

std::expected<void, std::string> write_signature(const World& world, const fs::path& path,
                                                 const std::string& text) {
  std::error_code error;
  fs::create_directory(path.parent_path(), error);
  if (fs::is_symlink(path.parent_path(), error))
    return std::unexpected(std::string("its folder is a symbolic link"));
  // Made beside the plan's folder where that can be: inside, what a stop leaves would be a file of the plan.
  const fs::path beside = fs::canonical(path.parent_path(), error).parent_path().parent_path();
  const bool can_be = !error && ::access(beside.c_str(), W_OK) == 0;
  const auto written = world.write_file(path.string(), text, can_be ? beside.string() : std::string());
  if (!written) return std::unexpected(written.error().sentence);
  return {};
}

}  // namespace

ExitCode run_sign(const World& world, const SignOptions& options) {
  SourceFiles files;
  Diagnostics diagnostics;
  const auto policy = read_policy_file(world, options.policy, files, diagnostics);
  const auto now = gate_time(options.at, diagnostics);
  const auto folder = read_plan_folder(world, options.folder);
  if (!folder) diagnostics.report(diagnostics::InputUnreadable, {}, options.folder, folder.error());
  if (!policy || !now || !folder) return end_with_wrong_input(world, diagnostics, files, options.show);
  const GateFindings whole = verify_files(*folder, views_of(plan_in(*folder)));
  if (!all_passed(whole)) return end_with_findings(world, whole, options.show);
  if (const std::string reason = reason_against(*folder, policy->policy, options); !reason.empty()) {
    GateFindings findings;
    refuse(findings, "sign/may-not", "", reason);
    return end_with_findings(world, findings, options.show);
  }
  Envelope envelope;
  envelope.person = options.person;
  envelope.payload = statement_json(statement_about(*folder, *policy, options, *now));
  const auto armoured = OpenSsh::sign(options.key, signed_octets(envelope));
  const auto blob = armoured ? signature_blob(*armoured) : std::nullopt;
  if (!blob) {
    diagnostics.report(diagnostics::InputUnreadable, {}, options.key,
                       armoured ? std::string("what ssh-keygen gave is no signature") : armoured.error());
    return end_with_wrong_input(world, diagnostics, files, options.show);
  }
  envelope.signature = *blob;
  const std::string name = signature_file(options.role, options.person);
  const fs::path path = fs::path(options.folder) / name;
  if (const auto written = write_signature(world, path, envelope_json(envelope)); !written) {
    diagnostics.report(diagnostics::OutputUnwritable, {}, path.string(), written.error());
    return end_with_wrong_input(world, diagnostics, files, options.show);
  }
  PlanFolder signed_one = *folder;
  signed_one.files[name] = envelope_json(envelope);
  // At once what the others will see: a key that the policy does not know is told to the one who can mend it.
  GateFindings own;
  for (GateFinding& finding : verify_signatures(signed_one, *policy, OpenSsh(), *now)) {
    if (finding.file == name) own.push_back(std::move(finding));
  }
  return end_with_findings(world, own, options.show);
}

ExitCode run_verify(const World& world, const VerifyOptions& options) {
  SourceFiles files;
  Diagnostics diagnostics;
  const auto policy = read_policy_file(world, options.policy, files, diagnostics);
  const auto now = gate_time(options.at, diagnostics);
  const auto folder = read_plan_folder(world, options.folder);
  if (!folder) diagnostics.report(diagnostics::InputUnreadable, {}, options.folder, folder.error());
  if (!policy || !now || !folder) return end_with_wrong_input(world, diagnostics, files, options.show);
  GateFindings findings = verify_files(*folder, views_of(plan_in(*folder)));
  append_findings(findings, verify_signatures(*folder, *policy, OpenSsh(), *now));
  return end_with_findings(world, findings, options.show);
}

}  // namespace cairn
