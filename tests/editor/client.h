// A client in the same process: sends requests as JSON, keeps what comes back, and runs on an invented
// project.

#pragma once

#include <gtest/gtest.h>

#include <functional>
#include <map>
#include <nlohmann/json.hpp>
#include <string>

#include "compiler/editor/host.h"
#include "compiler/editor/server.h"

namespace cairn::test {

// Files in memory under /project; stations and routines of the examples.
class MemoryHost : public EditorHost {
 public:
  MemoryHost();
  std::expected<std::string, std::string> read(const std::string& path) override;
  std::string whole(const std::string& path) override { return path; }
  std::string project_folder(const std::string&) override { return "/project"; }
  std::expected<std::string, std::string> inside(const std::string& folder, const std::string& path) override;
  std::string relative(const std::string& folder, const std::string& path) override;
  bool exists(const std::string& path) override { return files.contains(path); }
  std::vector<std::string> files_below(const std::string& folder, const std::string& ending) override;
  const LeapSecondTable& leap_seconds() override { return leap_seconds_; }
  CheckedLoad check(const std::shared_ptr<const LoadedStation>& station, SequencedLoad& load,
                    const SourceFiles& sources, Diagnostics& diagnostics) override;

  std::map<std::string, std::string> files;
  std::function<void(const SequencedLoad&, Diagnostics&)> say;  // what the checks find
  std::size_t checks = 0;

 private:
  LeapSecondTable leap_seconds_;
};

class Client {
 public:
  explicit Client(std::size_t most_bytes = std::size_t{1} << 20) : server(host, "test", most_bytes) {}

  using Json = nlohmann::json;

  void start();
  // Sends a request and gives its answer: {"result": ...} or {"error": ...}.
  Json ask(const std::string& method, Json params);
  void tell(const std::string& method, Json params);
  // Sends bytes as they are.
  void raw(const std::string& bytes);
  // Works off what is to be done; `publish` what the texts say alone.
  void settle();
  void publish();
  // A request whose answer is not waited for; gives its id.
  int request(const std::string& method, Json params);
  // The answer, or null when there is none yet.
  Json answer_to(int id) const;
  // One check, taken and put back.
  std::shared_ptr<CheckJob> begin_check();
  void end_check(const std::shared_ptr<CheckJob>& job);

  void open(const std::string& path, const std::string& text);
  void edit(const std::string& path, std::size_t line, std::size_t from, std::size_t to,
            const std::string& text);
  void change(const std::string& path, Json change);
  // Asks about the place of the `nth` occurrence of `word` in the text that was opened, `into` characters in.
  Json ask_at(const std::string& method, const std::string& path, const std::string& word,
              std::size_t nth = 0, std::size_t into = 0, Json more = Json::object());

  static std::string uri(const std::string& path) { return "file:///project/" + path; }
  static Json range(std::size_t line, std::size_t from, std::size_t last, std::size_t to);
  static Json position(const std::string& text, const std::string& word, std::size_t nth, std::size_t into);

  MemoryHost host;
  LanguageServer server;
  std::map<std::string, Json> diagnostics;  // by uri, as published last
  std::vector<Json> received;
  std::map<std::string, std::string> texts;  // by path
  int version = 0;

 private:
  void take(const std::string& bytes);
  int next_id_ = 1;
};

}  // namespace cairn::test
