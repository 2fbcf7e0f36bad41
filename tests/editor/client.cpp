// Reads what the server sends with a reader of its own, so that framing is held from both sides.

#include "tests/editor/client.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "constraints/sky/sky.h"
#include "tests/place.h"

namespace cairn::test {

namespace fs = std::filesystem;

MemoryHost::MemoryHost() : leap_seconds_(published_leap_seconds()) {
  const fs::path examples = fs::path(source_folder()) / "examples";
  for (const auto& entry : fs::recursive_directory_iterator(examples)) {
    if (!entry.is_regular_file()) continue;
    std::ostringstream text;
    text << std::ifstream(entry.path()).rdbuf();
    files["/project/" + entry.path().lexically_relative(examples).generic_string()] = text.str();
  }
}

std::expected<std::string, std::string> MemoryHost::read(const std::string& path) {
  const auto found = files.find(path);
  if (found == files.end()) return std::unexpected(std::string("there is no such file"));
  return found->second;
}

std::expected<std::string, std::string> MemoryHost::inside(const std::string& folder,
                                                           const std::string& path) {
  const std::string whole = (fs::path(folder) / path).lexically_normal().generic_string();
  if (!whole.starts_with(folder + "/"))
    return std::unexpected(std::string("it lies outside the project folder"));
  return whole;
}

std::string MemoryHost::relative(const std::string& folder, const std::string& path) {
  return path.starts_with(folder + "/") ? path.substr(folder.size() + 1) : path;
}

std::vector<std::string> MemoryHost::files_below(const std::string& folder, const std::string& ending) {
  std::vector<std::string> found;
  for (const auto& [path, text] : files) {
    if (path.starts_with(folder + "/") && path.ends_with(ending))
      found.push_back(path.substr(folder.size() + 1));
  }
  return found;
}

CheckedLoad MemoryHost::check(const std::shared_ptr<const LoadedStation>& station, SequencedLoad& load,
                              const SourceFiles&, Diagnostics& diagnostics) {
  ++checks;
  if (say) say(load, diagnostics);
  const StartState start = initial_state(station->station);
  CheckedLoad checked;
  checked.timeline = predict(station->station, start, load.begin, load.end, load.commands);
  const auto sky = sampled_sky(station->station.site, load.begin, load.end);
  const std::vector<TableUse> uses;
  CheckInput input;
  input.station = &station->station;
  input.start = &start;
  input.timeline = &checked.timeline;
  input.sky = sky.get();
  input.table_uses = &uses;
  checked.results = run_checks(input);
  return checked;
}

void Client::take(const std::string& bytes) {
  std::size_t at = 0;
  while (at < bytes.size()) {
    const std::string word = "Content-Length: ";
    ASSERT_EQ(bytes.compare(at, word.size(), word), 0) << bytes.substr(at, 60);
    const std::size_t end = bytes.find("\r\n\r\n", at);
    ASSERT_NE(end, std::string::npos);
    const std::size_t length = std::stoul(bytes.substr(at + word.size(), end - at - word.size()));
    ASSERT_LE(end + 4 + length, bytes.size());
    Json message = Json::parse(bytes.substr(end + 4, length));
    EXPECT_EQ(message.at("jsonrpc"), "2.0");
    if (message.value("method", "") == "textDocument/publishDiagnostics") {
      diagnostics[message["params"]["uri"]] = message["params"]["diagnostics"];
    }
    received.push_back(std::move(message));
    at = end + 4 + length;
  }
}

void Client::raw(const std::string& bytes) { take(server.receive(bytes)); }

void Client::settle() {
  for (int i = 0; i < 100; ++i) {
    if (server.has_work()) {
      take(server.work());
    } else if (const auto job = server.take_check()) {
      run(server.host(), *job);
      take(server.put_check(job));
    } else {
      return;
    }
  }
  ADD_FAILURE() << "the server never comes to rest";
}

void Client::tell(const std::string& method, Json params) {
  const std::string body = Json{{"jsonrpc", "2.0"}, {"method", method}, {"params", std::move(params)}}.dump();
  raw("Content-Length: " + std::to_string(body.size()) + "\r\n\r\n" + body);
}

void Client::publish() {
  while (server.has_work()) take(server.work());
}

std::shared_ptr<CheckJob> Client::begin_check() {
  auto job = server.take_check();
  if (job != nullptr) run(server.host(), *job);
  return job;
}

void Client::end_check(const std::shared_ptr<CheckJob>& job) { take(server.put_check(job)); }

int Client::request(const std::string& method, Json params) {
  const int id = next_id_++;
  const std::string body =
      Json{{"jsonrpc", "2.0"}, {"id", id}, {"method", method}, {"params", std::move(params)}}.dump();
  raw("Content-Length: " + std::to_string(body.size()) + "\r\n\r\n" + body);
  return id;
}

Client::Json Client::answer_to(int id) const {
  const auto found = std::find_if(received.rbegin(), received.rend(),
                                  [id](const Json& one) { return one.contains("id") && one["id"] == id; });
  return found == received.rend() ? Json() : *found;
}

Client::Json Client::ask(const std::string& method, Json params) {
  const int id = request(method, std::move(params));
  if (answer_to(id).is_null()) settle();  // an answer that tells of the checks waits for them
  Json answer = answer_to(id);
  if (answer.is_null()) ADD_FAILURE() << "no answer to " << method;
  return answer;
}

void Client::start() {
  const Json answer =
      ask("initialize",
          {{"capabilities",
            {{"textDocument", {{"completion", {{"completionItem", {{"snippetSupport", true}}}}}}}}}});
  ASSERT_TRUE(answer.contains("result"));
  tell("initialized", Json::object());
}

void Client::open(const std::string& path, const std::string& text) {
  texts[path] = text;
  tell("textDocument/didOpen",
       {{"textDocument",
         {{"uri", uri(path)}, {"languageId", "cairn"}, {"version", ++version}, {"text", text}}}});
}

void Client::change(const std::string& path, Json change) {
  Json document{{"uri", uri(path)}, {"version", ++version}};
  tell("textDocument/didChange",
       {{"textDocument", document}, {"contentChanges", Json::array({std::move(change)})}});
}

void Client::edit(const std::string& path, std::size_t line, std::size_t from, std::size_t to,
                  const std::string& text) {
  change(path, Json{{"range", range(line, from, line, to)}, {"text", text}});
}

Client::Json Client::range(std::size_t line, std::size_t from, std::size_t last, std::size_t to) {
  Json begin{{"line", line}, {"character", from}};
  Json end{{"line", last}, {"character", to}};
  return {{"start", begin}, {"end", end}};
}

Client::Json Client::position(const std::string& text, const std::string& word, std::size_t nth,
                              std::size_t into) {
  std::size_t at = text.find(word);
  for (; nth > 0 && at != std::string::npos; --nth) at = text.find(word, at + 1);
  EXPECT_NE(at, std::string::npos) << word;
  at += into;
  const std::size_t line_begin = text.rfind('\n', at - 1) + 1;
  return {{"line", std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n')},
          {"character", at - (at == 0 ? 0 : line_begin)}};
}

Client::Json Client::ask_at(const std::string& method, const std::string& path, const std::string& word,
                            std::size_t nth, std::size_t into, Json more) {
  more["textDocument"] = {{"uri", uri(path)}};
  more["position"] = position(texts[path], word, nth, into);
  return ask(method, more);
}

}  // namespace cairn::test
