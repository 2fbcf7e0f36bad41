// An editor's messages: the server answers each request at most once, in JSON, and never names a place that
// is none.
//
// A line of the input is the body of one message; one that begins with `!` goes in as it stands.

#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "compiler/editor/framing.h"
#include "compiler/editor/server.h"
#include "tests/fuzz/entries.h"
#include "tests/place.h"

namespace cairn::test {

namespace {

using Json = nlohmann::json;

const std::string& station_text() {
  static const std::string text = [] {
    std::ostringstream whole;
    whole << std::ifstream(std::string(source_folder()) + "/tests/fuzz/corpus/station/post.yaml").rdbuf();
    return whole.str();
  }();
  return text;
}

class Project : public EditorHost {
 public:
  std::expected<std::string, std::string> read(const std::string& path) override {
    if (path == "/p/stations/elder.yaml") return station_text();
    if (path == "/p/more.cairn")
      return "let more = 3 s\nroutine look(pause: Duration = more) { after pause note \"x\" }\n";
    return std::unexpected(std::string("there is no such file"));
  }
  std::string whole(const std::string& path) override { return path; }
  std::string project_folder(const std::string&) override { return "/p"; }
  std::expected<std::string, std::string> inside(const std::string& folder,
                                                 const std::string& path) override {
    if (path.find("..") != std::string::npos) return std::unexpected(std::string("it lies outside"));
    return folder + "/" + path;
  }
  std::string relative(const std::string& folder, const std::string& path) override {
    return path.starts_with(folder + "/") ? path.substr(folder.size() + 1) : path;
  }
  bool exists(const std::string& path) override { return read(path).has_value(); }
  std::vector<std::string> files_below(const std::string&, const std::string&) override {
    return {"elder.yaml"};
  }
  const LeapSecondTable& leap_seconds() override { return leap_seconds_; }
  CheckedLoad check(const std::shared_ptr<const LoadedStation>&, SequencedLoad&, const SourceFiles&,
                    Diagnostics&) override {
    return {};
  }

 private:
  LeapSecondTable leap_seconds_ = published_leap_seconds();
};

class Listener {
 public:
  void hear(const std::string& bytes) {
    MessageReader reader;
    reader.add(bytes);
    while (const auto body = reader.next()) {
      const Json message = Json::parse(*body, nullptr, false);
      must(message.is_object() && message.value("jsonrpc", "") == "2.0");
      if (message.contains("method")) continue;
      must(message.contains("result") != message.contains("error"));
      places_are_some(message);
      ++answers;
    }
    must(reader.broken().empty());
  }
  std::size_t answers = 0;

 private:
  static void places_are_some(const Json& value) {
    if (value.is_object() && value.contains("start") && value.contains("end")) {
      const auto place = [](const Json& one) {
        return std::pair(one.at("line").get<std::uint32_t>(), one.at("character").get<std::uint32_t>());
      };
      must(place(value.at("start")) <= place(value.at("end")));
    }
    if (!value.is_structured()) return;
    for (const Json& inner : value) places_are_some(inner);
  }
};

}  // namespace

void fuzz_editor(Octets input) {
  constexpr std::size_t most = 20'000;
  const std::string text(input.begin(),
                         input.begin() + static_cast<std::ptrdiff_t>(std::min(input.size(), most)));
  Project project;
  LanguageServer server(project, "fuzz", 50'000);
  Listener listener;
  std::size_t messages = 0;
  const auto rest = [&] {
    for (int i = 0; i < 100; ++i) {
      if (server.has_work()) {
        listener.hear(server.work());
      } else if (const auto job = server.take_check()) {
        run(project, *job);
        listener.hear(server.put_check(job));
      } else {
        return;
      }
    }
    must(false);  // it never comes to rest
  };
  listener.hear(server.receive(framed(R"({"id":0,"method":"initialize","params":{}})")));
  ++messages;
  for (std::size_t at = 0; at < text.size() && messages < 60;) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const std::string line = text.substr(at, end - at);
    at = end + 1;
    ++messages;
    listener.hear(server.receive(line.starts_with('!') ? line.substr(1) : framed(line)));
    if (line.size() % 3 == 0) rest();
  }
  rest();
  // The parts of a line that goes in as it stands may be several messages: no more of them than it has
  // octets.
  must(listener.answers <= messages + text.size());
}

}  // namespace cairn::test
