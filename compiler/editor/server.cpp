// Takes messages one by one and keeps what is known of each file up to date with its text.

#include "compiler/editor/server.h"

#include <algorithm>

#include "compiler/editor/diagnostics_view.h"
#include "compiler/editor/reply.h"

namespace cairn {

namespace {

constexpr std::size_t most_waiting = 64;

}  // namespace

LanguageServer::LanguageServer(EditorHost& host, std::string version, std::size_t most_bytes)
    : workspace_(host, most_bytes), version_(std::move(version)) {}

void LanguageServer::send(const std::string& message) { out_ += framed(message); }

void LanguageServer::reply(const Request& request, const std::string& result) {
  send(result_message(request.id, result));
}

void LanguageServer::fail(const Request& request, int code, std::string_view message) {
  send(error_message(request.id, static_cast<ReplyError>(code), message));
}

std::string LanguageServer::receive(std::string_view bytes) {
  reader_.add(bytes);
  while (!ended_) {
    const auto message = reader_.next();
    if (!message) break;
    handle(read_request(*message));
  }
  if (!reader_.broken().empty() && !ended_) {
    send(error_message("", ReplyError::ParseError, reader_.broken()));
    ended_ = true;
  }
  return std::exchange(out_, {});
}

void LanguageServer::handle(const Request& request) {
  if (request.fault == RequestFault::NoJson)
    return fail({}, static_cast<int>(ReplyError::ParseError), "the message is no JSON");
  if (request.is_response) return;
  if (request.fault == RequestFault::NoRequest) {
    return fail(request, static_cast<int>(ReplyError::InvalidRequest), "the message has no method");
  }
  if (request.method == "exit") {
    ended_ = true;
    return;
  }
  if (request.id.empty()) {
    if (initialized_ && !shut_down_) notice(request);
    return;
  }
  if (!initialized_ && request.method != "initialize") {
    return fail(request, static_cast<int>(ReplyError::ServerNotInitialized), "`initialize` comes first");
  }
  if (shut_down_)
    return fail(request, static_cast<int>(ReplyError::InvalidRequest), "the server is shut down");
  answer(request);
}

void LanguageServer::notice(const Request& request) {
  if (request.method == "$/cancelRequest") {
    cancel(request.cancelled);
  } else if (request.method == "textDocument/didOpen") {
    workspace_.open(request.uri, request.text, request.version);
  } else if (request.method == "textDocument/didChange") {
    if (!workspace_.change(request.uri, request.changes, request.version)) {
      send(show_message("`" + request.uri +
                        "` has grown too long to be followed; open it again when it is shorter"));
      forget_unneeded();
    }
  } else if (request.method == "textDocument/didClose") {
    workspace_.close(request.uri);
    forget_unneeded();
  } else if (request.method == "workspace/didChangeWatchedFiles") {
    for (const std::string& uri : request.changed_uris) {
      if (const auto path = workspace_.path_of(uri)) workspace_.forget(*path);
    }
  }
}

void LanguageServer::answer(const Request& request) {
  using Handler = void (LanguageServer::*)(const Request&);
  static const std::map<std::string_view, Handler> handlers{
      {"textDocument/hover", &LanguageServer::hover},
      {"textDocument/completion", &LanguageServer::complete},
      {"textDocument/definition", &LanguageServer::define},
      {"textDocument/references", &LanguageServer::refer},
      {"textDocument/prepareRename", &LanguageServer::prepare_rename},
      {"textDocument/rename", &LanguageServer::rename},
      {"textDocument/formatting", &LanguageServer::format_document},
      {"textDocument/documentSymbol", &LanguageServer::symbols},
      {"textDocument/semanticTokens/full", &LanguageServer::tokens},
      {"textDocument/inlayHint", &LanguageServer::hints},
      {"textDocument/codeAction", &LanguageServer::actions}};
  if (request.method == "initialize") {
    if (initialized_)
      return fail(request, static_cast<int>(ReplyError::InvalidRequest), "`initialize` came before");
    initialized_ = true;
    snippets_ = request.snippets;
    return reply(request, capabilities_json(version_));
  }
  if (request.method == "shutdown") {
    while (!waiting_.empty()) cancel(std::string(waiting_.front().id));
    shut_down_ = true;
    return reply(request, "null");
  }
  const auto handler = handlers.find(request.method);
  if (handler == handlers.end()) {
    return fail(request, static_cast<int>(ReplyError::MethodNotFound),
                "there is no method `" + request.method + "`");
  }
  (this->*handler->second)(request);
}

// The analysis of a file that is a load, or of any other by itself; up to date.
LanguageServer::Seen& LanguageServer::seen(const std::string& path) {
  Seen& known = seen_[path];
  if (known.analysis && known.revision == workspace_.revision()) return known;
  known.revision = workspace_.revision();
  if (known.analysis && known.analysis->is_of(workspace_)) return known;
  known.analysis = analyse(workspace_, stations_, path, known.analysis);
  known.has_names = false;
  known.published = false;
  return known;
}

std::optional<LanguageServer::View> LanguageServer::view_of(const Request& request) {
  Document* document = workspace_.find(request.uri);
  if (document == nullptr) return std::nullopt;
  if (document->is_language()) {
    Seen& own = seen(document->path);
    const auto file = own.analysis->file_of(document->path);
    if (own.analysis->station && file) return View{document, &own, *file};
  }
  for (const auto& [path, other] : workspace_.documents()) {
    if (!other.is_language() || path == document->path) continue;
    Seen& candidate = seen(path);
    if (!candidate.analysis->station) continue;
    if (const auto file = candidate.analysis->file_of(document->path))
      return View{document, &candidate, *file};
  }
  if (!document->is_language()) return std::nullopt;
  Seen& own = seen(document->path);
  const auto file = own.analysis->file_of(document->path);
  if (!file) return std::nullopt;
  return View{document, &own, *file};
}

const std::vector<NameUse>& LanguageServer::names(Seen& seen) {
  if (!seen.has_names) seen.names = names_of(*seen.analysis);
  seen.has_names = true;
  return seen.names;
}

// Whether the request must wait; then it is kept. Of too many, the oldest is told that the text has changed.
bool LanguageServer::waits_for_checks(const Request& request, Seen& seen) {
  if (!seen.analysis->needs_check) return false;
  waiting_.push_back(request);
  if (waiting_.size() > most_waiting) {
    fail(waiting_.front(), static_cast<int>(ReplyError::ContentModified), "the text changes too fast");
    waiting_.pop_front();
  }
  return true;
}

void LanguageServer::answer_waiting() {
  for (const Request& request : std::exchange(waiting_, {})) answer(request);
}

void LanguageServer::cancel(const std::string& id) {
  const auto found =
      std::find_if(waiting_.begin(), waiting_.end(), [&id](const Request& one) { return one.id == id; });
  if (found == waiting_.end()) return;
  fail(*found, static_cast<int>(ReplyError::RequestCancelled), "cancelled");
  waiting_.erase(found);
}

bool LanguageServer::has_work() const {
  if (!initialized_ || shut_down_) return false;
  Workspace& workspace = const_cast<Workspace&>(workspace_);
  for (const auto& [path, document] : workspace.documents()) {
    if (!document.is_language()) continue;
    const auto known = seen_.find(path);
    if (known == seen_.end() || known->second.revision != workspace_.revision()) return true;
    if (!known->second.published) return true;
  }
  return false;
}

std::string LanguageServer::work() {
  for (const auto& [path, document] : workspace_.documents()) {
    if (document.is_language()) seen(path);
  }
  publish();
  if (!waiting_.empty()) answer_waiting();  // what has mistakes now waits for no checks
  return std::exchange(out_, {});
}

std::shared_ptr<CheckJob> LanguageServer::take_check() {
  if (checking_ || has_work()) return nullptr;
  for (const auto& [path, one] : seen_) {
    if (!one.analysis->needs_check) continue;
    checking_ = true;
    auto job = std::make_shared<CheckJob>();
    job->analysis = one.analysis;
    return job;
  }
  return nullptr;
}

std::string LanguageServer::put_check(const std::shared_ptr<CheckJob>& job) {
  checking_ = false;
  Analysis& analysis = *job->analysis;
  analysis.needs_check = false;
  analysis.load = std::move(job->load);
  analysis.checked = std::move(job->checked);
  analysis.check_diagnostics = job->diagnostics.all();
  const bool is_current = std::any_of(seen_.begin(), seen_.end(), [&job](const auto& entry) {
    return entry.second.analysis == job->analysis;
  });
  if (is_current && !shut_down_) {
    publish();
    answer_waiting();
  }
  return std::exchange(out_, {});
}

void LanguageServer::publish() {
  DiagnosticsByUri all;
  for (const auto& [path, document] : workspace_.documents()) all[document.uri];
  for (auto& [path, one] : seen_) {
    if (one.analysis->station || one.analysis->load) add_diagnostics(workspace_, *one.analysis, all);
  }
  for (auto& [path, one] : seen_) {
    if (!one.analysis->station && !one.analysis->load) add_diagnostics(workspace_, *one.analysis, all);
    one.published = true;
  }
  for (const std::string& uri : published_) all[uri];
  for (const auto& [uri, list] : all) {
    send(diagnostics_message(uri, list));
    if (list.empty()) {
      published_.erase(uri);
    } else {
      published_.insert(uri);
    }
  }
}

// Files that are no longer open have nothing of their own to say.
void LanguageServer::forget_unneeded() {
  std::erase_if(seen_, [this](const auto& entry) { return workspace_.find_path(entry.first) == nullptr; });
  for (auto& [path, one] : seen_) one.published = false;
  if (workspace_.documents().empty()) publish();
}

}  // namespace cairn
