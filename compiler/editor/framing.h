// Messages on a stream: a head with the length of the body, an empty line, the body.
//
// What comes in may be anything. A head that is broken or a body that is too long cannot be skipped, because
// nothing says where the next message begins: the stream is then at its end.

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace cairn {

struct FramingLimits {
  std::size_t head = 8192;  // bytes
  std::size_t body = std::size_t{64} << 20;
};

class MessageReader {
 public:
  explicit MessageReader(FramingLimits limits = {}) : limits_(limits) {}

  void add(std::string_view bytes);
  // The next whole message; nullopt when more must come, or when the stream is broken.
  std::optional<std::string> next();
  // Why no message can follow; empty while all is well.
  [[nodiscard]] const std::string& broken() const { return broken_; }

 private:
  bool read_head();

  FramingLimits limits_;
  std::string bytes_;
  std::size_t begin_ = 0;    // of what has not been taken
  std::size_t scanned_ = 0;  // no end of the head before this
  std::optional<std::size_t> length_;
  bool in_body_ = false;
  std::string broken_;
};

std::string framed(std::string_view body);

}  // namespace cairn
