// Reading JSON that somebody else wrote: each step says where it is, the first mistake is kept, the rest are
// silent.

#pragma once

#include <fmt/format.h>

#include <cmath>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "compiler/plan/canonical_json.h"

namespace cairn {

class JsonView {
 public:
  JsonView(const Json& value, std::string path, std::string& error)
      : value_(&value), path_(std::move(path)), error_(&error) {}

  [[nodiscard]] JsonView at(std::string_view key) const {
    const Json::Object* object = value_->object();
    if (object == nullptr) return wrong("expected an object");
    const auto found = object->find(key);
    if (found == object->end()) return wrong(fmt::format("`{}` is missing", key));
    return {found->second, path_.empty() ? std::string(key) : fmt::format("{}.{}", path_, key), *error_};
  }
  // The member, or null where there is none.
  [[nodiscard]] JsonView maybe(std::string_view key) const {
    const Json::Object* object = value_->object();
    const auto found = object == nullptr ? Json::Object::const_iterator() : object->find(key);
    if (object == nullptr || found == object->end()) return {nothing(), path_, *error_};
    return {found->second, fmt::format("{}.{}", path_, key), *error_};
  }
  [[nodiscard]] std::string text() const {
    const std::string* text = value_->text();
    if (text == nullptr) {
      fail("expected text");
      return {};
    }
    // What is shown on terminals must not steer them.
    for (const char c : *text) {
      if (static_cast<unsigned char>(c) < 0x20 || c == '\x7f') fail("a control character in a text");
    }
    return *text;
  }
  [[nodiscard]] double number() const {
    if (const double* number = value_->number()) return *number;
    fail("expected a number");
    return 0;
  }
  [[nodiscard]] std::size_t count() const {
    const double value = number();
    if (value >= 0 && value <= 9007199254740992.0 && value == std::floor(value))
      return static_cast<std::size_t>(value);
    fail("expected a whole number");
    return 0;
  }
  [[nodiscard]] bool is_null() const { return value_->is_null(); }
  [[nodiscard]] bool flag() const {
    if (const bool* flag = value_->flag()) return *flag;
    fail("expected true or false");
    return false;
  }
  [[nodiscard]] std::optional<double> number_or_null() const {
    return is_null() ? std::nullopt : std::optional(number());
  }
  template <class Take>
  void each(Take take) const {
    const Json::Array* array = value_->array();
    if (array == nullptr) return fail("expected a list");
    for (std::size_t i = 0; i < array->size() && error_->empty(); ++i) {
      take(JsonView((*array)[i], fmt::format("{}[{}]", path_, i), *error_));
    }
  }
  template <class Take>
  void each_pair(Take take) const {
    const Json::Object* object = value_->object();
    if (object == nullptr) return fail("expected an object");
    for (const auto& [key, value] : *object) take(key, JsonView(value, path_ + "." + key, *error_));
  }
  [[nodiscard]] const Json& json() const { return *value_; }
  void fail(std::string_view sentence) const {
    if (error_->empty()) *error_ = fmt::format("{}: {}", path_.empty() ? "the whole" : path_, sentence);
  }

 private:
  [[nodiscard]] JsonView wrong(std::string_view sentence) const {
    fail(sentence);
    return {nothing(), path_, *error_};
  }
  static const Json& nothing() {
    static const Json null;
    return null;
  }
  const Json* value_;
  std::string path_;
  std::string* error_;
};

}  // namespace cairn
