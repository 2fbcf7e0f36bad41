// Key by key; what is not known is an error, since a misspelt key of a policy would ask for less than was
// meant.

#include "compiler/review/policy.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <initializer_list>

#include "compiler/model/load_yaml.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

class PolicyReader {
 public:
  PolicyReader(std::string path, Diagnostics& diagnostics)
      : path_(std::move(path)), diagnostics_(diagnostics) {}

  std::optional<Policy> whole(const YamlNode& node) {
    Policy policy;
    if (!keys(node, {"cairn-policy", "signers", "roles", "apart"})) return std::nullopt;
    const YamlNode* version = node.find("cairn-policy");
    if (version == nullptr || version->text != "1") {
      wrong(version == nullptr ? node.span : version->span, "expected `cairn-policy: 1` as its version");
    }
    if (const YamlNode* signers = node.find("signers")) policy.signers = text(*signers);
    if (policy.signers.empty() || policy.signers.find('/') != std::string::npos ||
        policy.signers.starts_with(".")) {
      wrong(node.find("signers") == nullptr ? node.span : node.find("signers")->span,
            "expected `signers` to be the name of a file beside the policy");
    }
    if (const YamlNode* roles = node.find("roles"); roles != nullptr && roles->kind == NodeKind::Map) {
      for (const YamlEntry& entry : roles->entries) policy.roles.push_back(role(entry));
    } else {
      wrong(node.span, "expected `roles`, a map of role to people and need");
    }
    if (std::none_of(policy.roles.begin(), policy.roles.end(),
                     [](const PolicyRole& role) { return role.always; })) {
      wrong(node.span, "expected a role that is needed always; without one, a plan would pass unsigned");
    }
    if (const YamlNode* apart = node.find("apart")) read_apart(*apart, policy);
    if (diagnostics_.has_errors()) return std::nullopt;
    return policy;
  }

 private:
  void wrong(Span span, std::string sentence) {
    diagnostics_.report(diagnostics::InputUnreadable, span, path_, sentence)
        .hint("docs/gate.md shows a whole policy");
  }

  bool keys(const YamlNode& node, std::initializer_list<std::string_view> known) {
    if (node.kind != NodeKind::Map) {
      wrong(node.span, "expected a map");
      return false;
    }
    for (const YamlEntry& entry : node.entries) {
      if (std::find(known.begin(), known.end(), entry.key) != known.end()) continue;
      std::string names;
      for (const std::string_view name : known)
        names += fmt::format("{}`{}`", names.empty() ? "" : ", ", name);
      wrong(entry.key_span, fmt::format("found the key `{}`, expected one of {}", entry.key, names));
    }
    return true;
  }

  std::string text(const YamlNode& node) {
    if (node.kind != NodeKind::Scalar || node.text.empty()) wrong(node.span, "expected text");
    return node.text;
  }

  std::set<std::string> texts(const YamlNode& node) {
    std::set<std::string> result;
    if (node.kind != NodeKind::Sequence) {
      wrong(node.span, "expected a list");
      return result;
    }
    for (const YamlNode& item : node.items) result.insert(text(item));
    return result;
  }

  std::set<std::string> words(const YamlNode& node, std::initializer_list<std::string_view> known) {
    std::set<std::string> result = texts(node);
    for (const std::string& word : result) {
      if (std::find(known.begin(), known.end(), word) == known.end())
        wrong(node.span, fmt::format("`{}` is not one of the words that can stand here", word));
    }
    return result;
  }

  // An identity or a role goes into file names and to ssh-keygen: letters, digits and a few signs.
  void name(const std::string& name, Span span) {
    const auto good = [](char c) {
      return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
             std::string_view("@._+-").find(c) != std::string_view::npos;
    };
    if (name.empty() || name.size() > 64 || !std::all_of(name.begin(), name.end(), good) ||
        name.front() == '.' || name.front() == '-') {
      wrong(span, fmt::format(
                      "`{}` is no name: letters, digits and `@._+-`, at most 64, the first a letter or digit",
                      name));
    }
  }

  PolicyRole role(const YamlEntry& entry) {
    PolicyRole role;
    role.name = entry.key;
    name(role.name, entry.key_span);
    if (!keys(entry.value, {"people", "needed", "count"})) return role;
    const YamlNode* people = entry.value.find("people");
    if (people != nullptr) role.people = texts(*people);
    for (const std::string& person : role.people) name(person, people->span);
    if (role.people.empty())
      wrong(entry.key_span, fmt::format("role `{}` has nobody in `people`", role.name));
    if (const YamlNode* count = entry.value.find("count")) {
      const std::string& digits = count->text;
      const auto [end, problem] = std::from_chars(digits.data(), digits.data() + digits.size(), role.count);
      if (problem != std::errc{} || end != digits.data() + digits.size() || role.count < 1 ||
          role.count > role.people.size()) {
        wrong(count->span,
              fmt::format("expected a count from 1 to {}, the people of this role", role.people.size()));
      }
    }
    const YamlNode* needed = entry.value.find("needed");
    if (needed == nullptr) {
      wrong(entry.key_span, "expected `needed`: `always`, `never`, or what asks for this role");
    } else if (needed->kind == NodeKind::Scalar) {
      role.always = needed->text == "always";
      if (!role.always && needed->text != "never") wrong(needed->span, "expected `always`, `never` or a map");
    } else {
      need(*needed, role);
    }
    return role;
  }

  void need(const YamlNode& needed, PolicyRole& role) {
    if (!keys(needed, {"classes", "verdicts", "waivers"})) return;
    if (const YamlNode* classes = needed.find("classes"))
      role.classes = words(*classes, {"routine", "caution", "hazardous", "irreversible"});
    if (const YamlNode* verdicts = needed.find("verdicts"))
      role.verdicts = words(*verdicts, {"holds", "unproven", "fails"});
    if (const YamlNode* waivers = needed.find("waivers")) {
      role.waivers = waivers->text == "true";
      if (!role.waivers && waivers->text != "false") wrong(waivers->span, "expected `true` or `false`");
    }
  }

  void read_apart(const YamlNode& apart, Policy& policy) {
    if (apart.kind != NodeKind::Sequence) return wrong(apart.span, "expected a list of pairs of roles");
    for (const YamlNode& pair : apart.items) {
      const auto known = [&](const YamlNode& node) { return policy.role(node.text) != nullptr; };
      if (pair.kind != NodeKind::Sequence || pair.items.size() != 2 || !known(pair.items[0]) ||
          !known(pair.items[1]) || pair.items[0].text == pair.items[1].text) {
        wrong(pair.span, "expected two different roles of this policy");
        continue;
      }
      policy.apart.emplace_back(pair.items[0].text, pair.items[1].text);
    }
  }

  std::string path_;
  Diagnostics& diagnostics_;
};

}  // namespace

const PolicyRole* Policy::role(const std::string& name) const {
  const auto found =
      std::find_if(roles.begin(), roles.end(), [&](const PolicyRole& role) { return role.name == name; });
  return found == roles.end() ? nullptr : &*found;
}

std::optional<Policy> read_policy(const SourceFiles& files, FileId file, Diagnostics& diagnostics) {
  YamlLimits limits;
  limits.file_bytes = std::size_t{256} << 10U;
  limits.nodes = 5000;
  Diagnostics found;
  const auto node = load_yaml(files, file, limits, found);
  std::optional<Policy> policy;
  if (node && !found.has_errors()) policy = PolicyReader(files.name(file), found).whole(*node);
  diagnostics.append(std::move(found));
  return policy;
}

}  // namespace cairn
