// The open documents, and the files behind them.

#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "compiler/editor/host.h"
#include "compiler/editor/request.h"
#include "compiler/editor/text_lines.h"

namespace cairn {

// "file:///a/b%20c" and "/a/b c"; nullopt for other schemes and what is no address.
std::optional<std::string> path_of_uri(std::string_view uri);
std::string uri_of_path(std::string_view path);

struct Document {
  std::string uri;  // as the client writes it
  std::string path;
  std::string text;
  TextLines lines;
  std::int64_t version = 0;

  [[nodiscard]] bool is_language() const { return !path.ends_with(".yaml") && !path.ends_with(".yml"); }
};

class Workspace {
 public:
  Workspace(EditorHost& host, std::size_t most_bytes) : host_(&host), most_bytes_(most_bytes) {}

  Document* open(const std::string& uri, std::string text, std::int64_t version);
  void close(const std::string& uri);
  // False when the document has grown too long by it: it is closed then. One that is not open stays so.
  bool change(const std::string& uri, const std::vector<ContentChange>& changes, std::int64_t version);
  // A file changed on disk.
  void forget(const std::string& path);

  [[nodiscard]] Document* find(std::string_view uri);
  [[nodiscard]] Document* find_path(std::string_view path);
  [[nodiscard]] std::map<std::string, Document>& documents() { return documents_; }
  // The open document's text, else the file's.
  std::expected<std::string, std::string> read(const std::string& path);
  // Grows whenever any text that `read` gives may have changed.
  [[nodiscard]] std::uint64_t revision() const { return revision_; }
  // The revision that last changed what `read` gives for one path.
  [[nodiscard]] std::uint64_t revision_of(const std::string& path) const;
  // The file that a client means; nullopt for what is none.
  std::optional<std::string> path_of(std::string_view uri);
  // The uri as the client writes it, when the file is open.
  std::string uri_of(const std::string& path);
  [[nodiscard]] EditorHost& host() { return *host_; }

 private:
  EditorHost* host_;
  std::size_t most_bytes_;
  std::map<std::string, std::string, std::less<>> paths_;  // of open documents, by uri
  std::map<std::string, Document> documents_;              // by path
  std::map<std::string, std::expected<std::string, std::string>> read_;
  std::map<std::string, std::uint64_t> changed_;
  std::uint64_t revision_ = 1;
};

}  // namespace cairn
