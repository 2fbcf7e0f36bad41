// Reading catalogue lines and pages.

#include "tests/catalogue/catalogue_guard.h"

#include <algorithm>
#include <regex>

namespace cairn::test {

namespace {

struct Section {
  std::string heading;  // "" for what stands above the first one
  std::vector<std::string> lines;
};

std::vector<Section> sections_of(std::string_view text) {
  std::vector<Section> sections{{}};
  bool inside_fence = false;
  for (std::string& line : lines_of(text)) {
    if (line.starts_with("```")) inside_fence = !inside_fence;
    if (!inside_fence && line.starts_with("#")) {
      sections.push_back({std::move(line), {}});
    } else {
      sections.back().lines.push_back(std::move(line));
    }
  }
  return sections;
}

// The paragraphs of a section, each as one line.
std::vector<std::string> paragraphs_of(const Section& section) {
  std::vector<std::string> paragraphs;
  bool open = false;
  for (const std::string& line : section.lines) {
    if (line.empty()) {
      open = false;
    } else if (open) {
      paragraphs.back() += " " + line;
    } else {
      paragraphs.push_back(line);
      open = true;
    }
  }
  return paragraphs;
}

struct Example {
  std::vector<std::string> lines;
  std::string fault;  // "" when the section holds one fenced example in a known language
};

Example example_of(const Section& section) {
  Example example;
  std::size_t fences = 0;
  bool known = true;
  for (const std::string& line : section.lines) {
    if (line.starts_with("```")) {
      if (fences % 2 == 0) known = known && (line == "```cairn" || line == "```yaml" || line == "```sh");
      ++fences;
    } else if (fences % 2 == 1 && !line.empty()) {
      example.lines.push_back(line);
    }
  }
  if (fences != 2) {
    example.fault = "needs one fenced example, found " + std::to_string(fences) + " fences";
  } else if (!known) {
    example.fault = "has an example in no known language";
  } else if (example.lines.empty()) {
    example.fault = "has an empty example";
  }
  return example;
}

}  // namespace

std::vector<Entry> entries_of(const SourceText& definitions) {
  static const std::regex line(R"re(\bDIAG\(\s*(\w+)\s*,\s*"([^"]*)")re");
  std::vector<Entry> entries;
  // Comments tell how to write a line; they hold none.
  std::string text;
  for (const std::string& each : lines_of(definitions.text)) {
    if (!each.starts_with("//")) text += each + "\n";
  }
  for (std::sregex_iterator at(text.begin(), text.end(), line), end; at != end; ++at) {
    entries.push_back({(*at)[1], (*at)[2], definitions.path});
  }
  return entries;
}

std::set<std::string> finding_codes(const std::vector<SourceText>& sources,
                                    const std::set<std::string>& areas) {
  static const std::regex literal(R"re("([a-z]+)/([a-z]+(-[a-z]+)*)")re");
  std::set<std::string> codes;
  for (const SourceText& file : sources) {
    for (std::sregex_iterator at(file.text.begin(), file.text.end(), literal), end; at != end; ++at) {
      if (areas.contains((*at)[1])) codes.insert((*at)[1].str() + "/" + (*at)[2].str());
    }
  }
  return codes;
}

std::vector<std::string> check_entries(const std::vector<Entry>& entries,
                                       const std::vector<SourceText>& sources) {
  static const std::regex words("[a-z]+/[a-z]+(-[a-z]+)*");
  static const std::regex use(R"(\bdiagnostics\s*::\s*(\w+))");
  std::set<std::string> used;
  for (const SourceText& file : sources) {
    const std::string code = code_only(file.text);
    for (std::sregex_iterator at(code.begin(), code.end(), use), end; at != end; ++at) used.insert((*at)[1]);
  }
  std::vector<std::string> breaches;
  if (entries.empty()) breaches.emplace_back("no entry was found");
  if (sources.empty()) breaches.emplace_back("no source was read");
  std::set<std::string> codes;
  std::set<std::string> names;
  for (const Entry& entry : entries) {
    if (!std::regex_match(entry.code, words))
      breaches.push_back("`" + entry.code + "` is not written area/word");
    if (!codes.insert(entry.code).second) breaches.push_back("`" + entry.code + "` stands twice");
    if (!names.insert(entry.name).second) breaches.push_back(entry.name + " stands twice");
    if (!used.contains(entry.name))
      breaches.push_back("`" + entry.code + "` (" + entry.name + ") is reported nowhere");
  }
  return breaches;
}

std::vector<std::string> check_page(std::string_view code, std::string_view text) {
  std::vector<std::string> breaches;
  const auto breach = [&](const std::string& what) { breaches.push_back(std::string(code) + ": " + what); };
  const std::vector<Section> sections = sections_of(text);
  const std::vector<std::string> wanted{"", "# " + std::string(code), "## Why it matters", "## Fails",
                                        "## Mended"};
  const bool complete = std::equal(sections.begin(), sections.end(), wanted.begin(), wanted.end(),
                                   [](const Section& a, const std::string& b) { return a.heading == b; });
  if (!complete) {
    breach("headings must be its code, Why it matters, Fails, Mended, in this order");
    return breaches;
  }
  if (!sections[0].lines.empty()) breach("words above the title");
  const std::vector<std::string> lead = paragraphs_of(sections[1]);
  static const std::regex sentence(R"([A-Z`].*[^.]\.)");
  static const std::regex two_sentences(R"([a-z`)][.?!] +[A-Z`])");
  if (lead.size() != 1 || !std::regex_match(lead[0], sentence) || std::regex_search(lead[0], two_sentences)) {
    breach("one sentence must stand under the title");
  }
  if (paragraphs_of(sections[2]).empty()) breach("nothing stands under Why it matters");
  const Example fails = example_of(sections[3]);
  const Example mended = example_of(sections[4]);
  if (!fails.fault.empty()) breach("Fails " + fails.fault);
  if (!mended.fault.empty()) breach("Mended " + mended.fault);
  if (fails.lines == mended.lines && fails.fault.empty()) breach("Fails and Mended show the same");
  return breaches;
}

std::vector<std::string> check_pages(const std::set<std::string>& codes,
                                     const std::vector<SourceText>& pages) {
  std::vector<std::string> breaches;
  if (codes.empty()) breaches.emplace_back("no code was found");
  if (pages.empty()) breaches.emplace_back("no page was found");
  std::map<std::string, const SourceText*> by_name;
  for (const SourceText& page : pages) by_name[page.path.substr(page.path.rfind('/') + 1)] = &page;
  for (const std::string& code : codes) {
    std::string name = code + ".md";
    std::replace(name.begin(), name.end(), '/', '-');
    const auto page = by_name.find(name);
    if (page == by_name.end()) {
      breaches.push_back(code + " has no page " + name);
      continue;
    }
    for (std::string& breach : check_page(code, page->second->text)) breaches.push_back(std::move(breach));
    by_name.erase(page);
  }
  for (const auto& [name, page] : by_name) breaches.push_back(page->path + " is the page of no code");
  return breaches;
}

}  // namespace cairn::test
