// The words of the subcommands of review: options and their help, nothing else.

#include <CLI/CLI.hpp>

#include "compiler/command/review_commands.h"

namespace cairn {

struct ReviewWords::Words {
  DiffOptions diff;
  SignOptions sign;
  VerifyOptions verify;
  GateOptions gate;
  MendOptions mend;
  CLI::App* diff_command = nullptr;
  CLI::App* sign_command = nullptr;
  CLI::App* verify_command = nullptr;
  CLI::App* gate_command = nullptr;
  CLI::App* mend_command = nullptr;
};

namespace {

void add_show(CLI::App* command, ShowOptions& show) {
  command->add_flag("--json", show.json, "answer as JSON, for programs");
  command->add_flag("--short", show.one_line, "one line for each problem");
}

void add_verify(CLI::App* command, VerifyOptions& verify) {
  command->add_option("PLAN", verify.folder, "the plan's folder")->required();
  command->add_option("--policy", verify.policy, "the review policy; the file of signers lies beside it")
      ->required();
  command->add_option("--at", verify.at, "judge as of this instant; else now");
  add_show(command, verify.show);
}

void add_sign(CLI::App* command, SignOptions& sign) {
  command->add_option("PLAN", sign.folder, "the plan's folder; the signature is added to it")->required();
  command->add_option("--policy", sign.policy, "the review policy; the file of signers lies beside it")
      ->required();
  command->add_option("--role", sign.role, "role of the policy in which you sign")->required();
  command->add_option("--person", sign.person, "who you are, as the policy and the file of signers call you")
      ->required();
  command->add_option("--key", sign.key, "your OpenSSH key: the private one, or the public one of an agent's")
      ->required();
  command->add_option("--at", sign.at, "sign as of this instant; else now");
  add_show(command, sign.show);
  command->footer(
      "Example:\n  cairn sign out --policy review/policy.yaml --role reviewer --person "
      "bob@tarn-ridge.example "
      "--key ~/.ssh/id_ed25519");
}

void add_mend(CLI::App* command, MendOptions& mend) {
  command->add_option("LOAD", mend.compile.load, "the load's file")->required();
  command->add_option("--station", mend.compile.station, "station file, or its name in this project");
  command->add_option("--after", mend.compile.after, "plan.json of the load before");
  command->add_option("--uplink-from", mend.compile.uplink_from, "no window before this instant is used");
  command->add_option("--leap-seconds", mend.compile.leap_seconds, "a newer table of leap seconds");
  add_show(command, mend.show);
  command->footer(
      "Example:\n  cairn mend evening.cairn\n\nEach proposal is a patch; it was compiled and checked as a "
      "whole load.");
}

void add_gate(CLI::App* command, GateOptions& gate) {
  add_verify(command, gate.verify);
  command->add_option("--sources", gate.sources,
                      "project folder with the sources; else the one around the current folder");
  command->add_option("--station", gate.compile.station, "as the plan was built with");
  command->add_option("--after", gate.compile.after,
                      "plan.json that was sent last to this station; none: this is its first");
  command->add_option("--ledger", gate.ledger, "the plan must follow what was last sent by this ledger");
  command->add_option("--uplink-from", gate.compile.uplink_from, "as the plan was built with");
  command->add_option("--leap-seconds", gate.compile.leap_seconds, "as the plan was built with");
  command->add_option("--sarif", gate.sarif, "write the findings there as SARIF 2.1.0");
  command->add_option("--junit", gate.junit, "write the findings there as JUnit XML");
  command->add_option("--markdown", gate.markdown, "write a summary there for a merge request");
  command->footer(
      "Example:\n  cairn gate out --policy review/policy.yaml --after sent/plan.json --sarif gate.sarif\n\n"
      "Exit codes: 0 passed, 1 refused, 2 the input is wrong, 3 a fault of the tool.\n"
      "A clean gate is no permission to transmit.");
}

}  // namespace

ReviewWords::ReviewWords(CLI::App& app) : words_(std::make_unique<Words>()) {
  Words& words = *words_;
  words.diff_command =
      app.add_subcommand("diff", "say what is different between two plans, or a plan and a load");
  CLI::App* diff = words.diff_command;
  diff->add_option("OLD", words.diff.before, "plan.json, its folder, or a load")->required();
  diff->add_option("NEW", words.diff.after, "plan.json, its folder, or a load")->required();
  diff->add_option("--old-sources", words.diff.old_sources,
                   "project folder with the texts that went into OLD");
  diff->add_option("--new-sources", words.diff.new_sources,
                   "project folder with the texts that went into NEW");
  diff->add_option("--page", words.diff.page, "write the page of the difference there");
  diff->add_option("--station", words.diff.compile.station,
                   "of a load: station file, or its name in this project");
  diff->add_option("--after", words.diff.compile.after, "of a load: plan.json of the load before");
  diff->add_option("--uplink-from", words.diff.compile.uplink_from,
                   "of a load: no window before this instant is used");
  diff->add_option("--leap-seconds", words.diff.compile.leap_seconds,
                   "of a load: a newer table of leap seconds");
  diff->add_flag("--json", words.diff.show.json, "answer as JSON, for programs");
  diff->add_flag("--short", words.diff.show.one_line, "one line for each problem");
  diff->footer(
      "Examples:\n  cairn diff old/plan.json new/plan.json\n  cairn diff out/plan.json evening.cairn\n\n"
      "Exit codes: 0 nothing that matters is different, 1 something is, 2 the input is wrong.");
  words.sign_command = app.add_subcommand("sign", "sign a plan in a role of the review policy");
  add_sign(words.sign_command, words.sign);
  words.verify_command = app.add_subcommand("verify", "is this plan whole, and signed as the policy asks?");
  add_verify(words.verify_command, words.verify);
  words.verify_command->footer("Example:\n  cairn verify out --policy review/policy.yaml");
  words.gate_command =
      app.add_subcommand("gate", "may this plan go up now? verify, rebuild, times, counters");
  add_gate(words.gate_command, words.gate);
  words.mend_command = app.add_subcommand("mend", "propose small changes that make a failing load hold");
  add_mend(words.mend_command, words.mend);
}

ReviewWords::~ReviewWords() = default;

std::optional<ExitCode> ReviewWords::run(const World& world) const {
  if (*words_->diff_command) return run_diff(world, words_->diff);
  if (*words_->sign_command) return run_sign(world, words_->sign);
  if (*words_->verify_command) return run_verify(world, words_->verify);
  if (*words_->gate_command) return run_gate(world, words_->gate);
  if (*words_->mend_command) return run_mend(world, words_->mend);
  return std::nullopt;
}

}  // namespace cairn
