// The gate's findings in the forms that people and the screens of CI systems read.

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "compiler/plan/assemble.h"
#include "compiler/plan/canonical_json.h"
#include "compiler/review/gate.h"

namespace cairn {

namespace {

std::string xml(std::string_view text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        // XML 1.0 has no other control characters.
        out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
    }
  }
  return out;
}

std::string markdown(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '|' || c == '<' || c == '\\' || c == '*' || c == '_') out += '\\';
    out += c == '\n' ? ' ' : c;
  }
  return out;
}

std::size_t refusals(const GateFindings& findings) {
  return static_cast<std::size_t>(std::count_if(findings.begin(), findings.end(),
                                                [](const GateFinding& finding) { return !finding.passed; }));
}

std::string verdict_line(const GateFindings& findings) {
  const std::size_t refused = refusals(findings);
  if (refused > 0) return fmt::format("refused: {} of {} findings", refused, findings.size());
  return findings.empty() ? "refused: nothing was looked at" : "passed";
}

}  // namespace

std::string gate_text(const GateFindings& findings, bool colour) {
  std::size_t width = 0;
  for (const GateFinding& finding : findings) width = std::max(width, finding.rule.size());
  std::string out;
  for (const GateFinding& finding : findings) {
    const std::string word = finding.passed ? "good   " : "refused";
    out += fmt::format("{}  {:<{}}  {}{}\n",
                       colour ? fmt::format("\x1b[{}m{}\x1b[0m", finding.passed ? "32" : "1;31", word) : word,
                       finding.rule, width,
                       finding.file.empty() ? "" : "`" + finding.file + "`: ", finding.sentence);
  }
  return out + "\n" + verdict_line(findings) + "\n";
}

std::string gate_json(const GateFindings& findings) {
  Json::Array rows;
  for (const GateFinding& finding : findings) {
    rows.emplace_back(Json::Object{{"rule", finding.rule},
                                   {"passed", finding.passed},
                                   {"sentence", finding.sentence},
                                   {"file", finding.file.empty() ? Json(nullptr) : Json(finding.file)}});
  }
  return Json(Json::Object{{"passed", all_passed(findings)}, {"findings", std::move(rows)}}).canonical();
}

std::string gate_sarif(const GateFindings& findings) {
  std::set<std::string> names;
  Json::Array results;
  for (const GateFinding& finding : findings) {
    names.insert(finding.rule);
    Json::Object result{{"ruleId", finding.rule},
                        {"kind", finding.passed ? "pass" : "fail"},
                        {"level", finding.passed ? "none" : "error"},
                        {"message", Json::Object{{"text", finding.sentence + "."}}}};
    result.emplace(
        "locations",
        Json::Array{Json::Object{
            {"physicalLocation",
             Json::Object{
                 {"artifactLocation",
                  Json::Object{{"uri", finding.file.empty() ? std::string("plan.json") : finding.file}}},
                 {"region", Json::Object{{"startLine", 1}}}}}}});
    results.emplace_back(std::move(result));
  }
  Json::Array rules;
  for (const std::string& name : names) {
    rules.emplace_back(
        Json::Object{{"id", name}, {"shortDescription", Json::Object{{"text", "Gate rule " + name + "."}}}});
  }
  std::string version(tool_name);
  version = version.substr(version.find(' ') + 1);
  const Json driver = Json::Object{{"name", "cairn"}, {"version", version}, {"rules", std::move(rules)}};
  return Json(Json::Object{{"$schema", "https://json.schemastore.org/sarif-2.1.0.json"},
                           {"version", "2.1.0"},
                           {"runs", Json::Array{Json::Object{{"tool", Json::Object{{"driver", driver}}},
                                                             {"results", std::move(results)}}}}})
             .canonical() +
         "\n";
}

std::string gate_junit(const GateFindings& findings, std::string_view name) {
  std::string out = fmt::format(
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites>\n  <testsuite name=\"{}\" tests=\"{}\" "
      "failures=\"{}\" "
      "errors=\"0\" skipped=\"0\">\n",
      xml(name), findings.size(), refusals(findings));
  for (const GateFinding& finding : findings) {
    const std::string title = finding.file.empty() ? finding.rule : finding.rule + " " + finding.file;
    out += fmt::format("    <testcase classname=\"{}\" name=\"{}\"", xml(name), xml(title));
    out += finding.passed ? "/>\n"
                          : fmt::format("><failure type=\"{}\" message=\"{}\"/></testcase>\n",
                                        xml(finding.rule), xml(finding.sentence));
  }
  return out + "  </testsuite>\n</testsuites>\n";
}

std::string gate_markdown(const GateFindings& findings, std::string_view name) {
  std::string out = fmt::format("### Gate of {}: {}\n\n| | rule | found |\n| --- | --- | --- |\n",
                                markdown(name), verdict_line(findings));
  for (const GateFinding& finding : findings) {
    out += fmt::format("| {} | {} | {}{} |\n", finding.passed ? "good" : "**refused**", finding.rule,
                       finding.file.empty() ? "" : markdown(finding.file) + ": ", markdown(finding.sentence));
  }
  return out + "\nA clean gate is no permission to transmit.\n";
}

}  // namespace cairn
