// Reads heads line by line; takes bodies whole.

#include "compiler/editor/framing.h"

#include <algorithm>
#include <charconv>

namespace cairn {

namespace {

bool same_letters(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](char x, char y) {
    const auto lower = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; };
    return lower(x) == lower(y);
  });
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t' || text.back() == '\r'))
    text.remove_suffix(1);
  return text;
}

}  // namespace

void MessageReader::add(std::string_view bytes) {
  if (!broken_.empty()) return;
  if (begin_ > 0 && begin_ >= bytes_.size() / 2) {
    bytes_.erase(0, begin_);
    scanned_ -= begin_;
    begin_ = 0;
  }
  bytes_ += bytes;
}

bool MessageReader::read_head() {
  for (;;) {
    const std::size_t end = bytes_.find('\n', std::max(scanned_, begin_));
    if (end == std::string::npos) {
      scanned_ = bytes_.size();
      if (bytes_.size() - begin_ > limits_.head) broken_ = "the head of a message is too long";
      return false;
    }
    const std::string_view line = trimmed(std::string_view(bytes_).substr(begin_, end - begin_));
    begin_ = end + 1;
    scanned_ = begin_;
    if (line.empty()) {
      if (!length_) broken_ = "a message has no Content-Length";
      return length_.has_value();
    }
    const std::size_t colon = line.find(':');
    if (colon == std::string_view::npos || line.size() > limits_.head) {
      broken_ = "the head of a message cannot be read";
      return false;
    }
    if (!same_letters(trimmed(line.substr(0, colon)), "content-length")) continue;
    const std::string_view digits = trimmed(line.substr(colon + 1));
    std::size_t length = 0;
    const auto [stop, error] = std::from_chars(digits.data(), digits.data() + digits.size(), length);
    if (error != std::errc{} || stop != digits.data() + digits.size() || length > limits_.body) {
      broken_ = "the Content-Length of a message is no number up to " + std::to_string(limits_.body);
      return false;
    }
    if (length_ && *length_ != length) {
      broken_ = "a message has two different Content-Length";
      return false;
    }
    length_ = length;
  }
}

std::optional<std::string> MessageReader::next() {
  if (!broken_.empty()) return std::nullopt;
  if (!in_body_) {
    if (!read_head()) return std::nullopt;
    in_body_ = true;
  }
  if (bytes_.size() - begin_ < *length_) return std::nullopt;
  std::string body = bytes_.substr(begin_, *length_);
  begin_ += *length_;
  scanned_ = begin_;
  length_.reset();
  in_body_ = false;
  return body;
}

std::string framed(std::string_view body) {
  std::string message = "Content-Length: " + std::to_string(body.size()) + "\r\n\r\n";
  message += body;
  return message;
}

}  // namespace cairn
