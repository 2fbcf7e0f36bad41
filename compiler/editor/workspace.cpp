// Documents by path; files are read once until the client says that they changed.

#include "compiler/editor/workspace.h"

#include <algorithm>

namespace cairn {

namespace {

int digit_of(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

void apply(Document& document, const ContentChange& change) {
  if (change.whole) {
    document.text = change.text;
    document.lines = TextLines(document.text);
    return;
  }
  const std::uint32_t first = document.lines.offset(document.text, change.range.begin);
  const std::uint32_t second = document.lines.offset(document.text, change.range.end);
  const std::uint32_t begin = std::min(first, second);
  const std::uint32_t length = std::max(first, second) - begin;
  document.text.replace(begin, length, change.text);
  document.lines.replace(begin, length, static_cast<std::uint32_t>(change.text.size()), document.text);
}

}  // namespace

std::optional<std::string> path_of_uri(std::string_view uri) {
  constexpr std::string_view scheme = "file://";
  if (!uri.starts_with(scheme)) return std::nullopt;
  uri.remove_prefix(scheme.size());
  const std::size_t slash = uri.find('/');
  if (slash == std::string_view::npos) return std::nullopt;
  uri.remove_prefix(slash);  // the host's name, empty as a rule
  std::string path;
  for (std::size_t i = 0; i < uri.size(); ++i) {
    if (uri[i] != '%') {
      path += uri[i];
      continue;
    }
    if (i + 2 >= uri.size()) return std::nullopt;
    const int high = digit_of(uri[i + 1]);
    const int low = digit_of(uri[i + 2]);
    if (high < 0 || low < 0 || high * 16 + low == 0) return std::nullopt;
    path += static_cast<char>(high * 16 + low);
    i += 2;
  }
  return path;
}

std::string uri_of_path(std::string_view path) {
  constexpr std::string_view digits = "0123456789ABCDEF";
  constexpr std::string_view plain = "-._~/!$&'()*+,;=:@";
  std::string uri = "file://";
  for (const char c : path) {
    const bool is_plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                          plain.find(c) != std::string_view::npos;
    if (is_plain) {
      uri += c;
      continue;
    }
    const auto byte = static_cast<unsigned char>(c);
    uri += '%';
    uri += digits[byte >> 4U];
    uri += digits[byte & 15U];
  }
  return uri;
}

std::optional<std::string> Workspace::path_of(std::string_view uri) {
  const auto known = paths_.find(uri);
  if (known != paths_.end()) return known->second;
  const auto path = path_of_uri(uri);
  return path ? std::optional(host_->whole(*path)) : std::nullopt;
}

Document* Workspace::open(const std::string& uri, std::string text, std::int64_t version) {
  const auto path = path_of(uri);
  if (!path) return nullptr;
  paths_[uri] = *path;
  Document& document = documents_[*path];
  document.uri = uri;
  document.path = *path;
  document.text = std::move(text);
  document.lines = TextLines(document.text);
  document.version = version;
  changed_[*path] = ++revision_;
  return &document;
}

void Workspace::close(const std::string& uri) {
  if (const auto path = path_of(uri)) {
    documents_.erase(*path);
    paths_.erase(uri);
    forget(*path);
  }
}

bool Workspace::change(const std::string& uri, const std::vector<ContentChange>& changes,
                       std::int64_t version) {
  Document* document = find(uri);
  if (document == nullptr) return true;
  for (const ContentChange& change : changes) {
    if (document->text.size() + change.text.size() > most_bytes_) {
      close(uri);
      return false;
    }
    apply(*document, change);
  }
  document->version = version;
  changed_[document->path] = ++revision_;
  return true;
}

void Workspace::forget(const std::string& path) {
  read_.erase(path);
  changed_[path] = ++revision_;
}

std::uint64_t Workspace::revision_of(const std::string& path) const {
  const auto found = changed_.find(path);
  return found == changed_.end() ? 0 : found->second;
}

Document* Workspace::find(std::string_view uri) {
  const auto path = path_of(uri);
  return path ? find_path(*path) : nullptr;
}

Document* Workspace::find_path(std::string_view path) {
  const auto found = documents_.find(std::string(path));
  return found == documents_.end() ? nullptr : &found->second;
}

std::expected<std::string, std::string> Workspace::read(const std::string& path) {
  if (const Document* document = find_path(path)) return document->text;
  const auto known = read_.find(path);
  if (known != read_.end()) return known->second;
  return read_.emplace(path, host_->read(path)).first->second;
}

std::string Workspace::uri_of(const std::string& path) {
  const Document* document = find_path(path);
  return document == nullptr ? uri_of_path(path) : document->uri;
}

}  // namespace cairn
