// The language server: bytes of the client in, bytes for the client out.
//
// What a change of text brings about is worked off while no message waits: first what the text says by
// itself, then the checks, which whoever runs the server may make on another thread. Requests are answered at
// once, those that tell of the checks when these are done. Nothing that a client sends can end it but `exit`
// or a broken stream.

#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "compiler/editor/analysis.h"
#include "compiler/editor/framing.h"
#include "compiler/editor/names.h"
#include "compiler/editor/request.h"
#include "compiler/editor/workspace.h"

namespace cairn {

class LanguageServer {
 public:
  // Documents above `most_bytes` are not followed: places are counted in 32 bits, and no reader takes more.
  LanguageServer(EditorHost& host, std::string version, std::size_t most_bytes = std::size_t{256} << 20);

  // Takes what has come in; gives what is to be sent.
  std::string receive(std::string_view bytes);
  // True while something is to be worked off; each call of `work` does one piece.
  [[nodiscard]] bool has_work() const;
  std::string work();
  // A load whose checks are to be made now; null when there is none, or one is under way.
  std::shared_ptr<CheckJob> take_check();
  // What came of it.
  std::string put_check(const std::shared_ptr<CheckJob>& job);
  [[nodiscard]] EditorHost& host() { return workspace_.host(); }

  [[nodiscard]] bool ended() const { return ended_; }
  // After `exit`: whether the client had asked to shut down.
  [[nodiscard]] bool ended_well() const { return ended_ && shut_down_; }

 private:
  struct Seen {
    std::shared_ptr<Analysis> analysis;
    std::vector<NameUse> names;
    bool has_names = false;
    std::uint64_t revision = 0;  // of the workspace when it was made
    bool published = false;
  };
  // A document with the analysis that understands it: its own, or that of a load that uses it.
  struct View {
    Document* document = nullptr;
    Seen* seen = nullptr;
    FileId file;
  };

  void handle(const Request& request);
  void answer(const Request& request);
  void notice(const Request& request);
  void reply(const Request& request, const std::string& result);
  void fail(const Request& request, int code, std::string_view message);
  void send(const std::string& message);

  Seen& seen(const std::string& path);
  std::optional<View> view_of(const Request& request);
  const std::vector<NameUse>& names(Seen& seen);
  bool waits_for_checks(const Request& request, Seen& seen);
  void answer_waiting();
  void cancel(const std::string& id);
  void publish();
  void forget_unneeded();

  void hover(const Request& request);
  void complete(const Request& request);
  void define(const Request& request);
  void refer(const Request& request);
  void prepare_rename(const Request& request);
  void rename(const Request& request);
  void format_document(const Request& request);
  void symbols(const Request& request);
  void tokens(const Request& request);
  void hints(const Request& request);
  void actions(const Request& request);

  Workspace workspace_;
  StationCache stations_;
  MessageReader reader_;
  std::string version_;
  std::string out_;
  std::map<std::string, Seen> seen_;  // by the path of the load or other file
  std::set<std::string> published_;   // uris that have diagnostics
  std::deque<Request> waiting_;       // for checks
  bool checking_ = false;             // a job has been taken and not been put back
  bool initialized_ = false;
  bool shut_down_ = false;
  bool ended_ = false;
  bool snippets_ = false;
};

}  // namespace cairn
