// Typed ids and the tables they index. An id is a position in one flat vector; ids of different tables do not
// mix, and none ever appears in output.

#pragma once

#include <compare>
#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

namespace cairn {

template <class Tag>
struct Id {
  static constexpr std::uint32_t none_value = 0xFFFFFFFFU;
  std::uint32_t value = none_value;

  [[nodiscard]] constexpr bool is_valid() const { return value != none_value; }
  friend constexpr auto operator<=>(Id, Id) = default;
};

template <class IdType, class Value>
class Table {
 public:
  IdType add(Value value) {
    values_.push_back(std::move(value));
    return IdType{static_cast<std::uint32_t>(values_.size() - 1)};
  }
  Value& operator[](IdType id) { return values_[id.value]; }
  const Value& operator[](IdType id) const { return values_[id.value]; }
  [[nodiscard]] std::size_t size() const { return values_.size(); }
  // Room for so many in all; a hint that saves moving them while the table grows.
  void reserve(std::size_t count) { values_.reserve(count); }
  [[nodiscard]] bool empty() const { return values_.empty(); }
  auto begin() { return values_.begin(); }
  auto end() { return values_.end(); }
  [[nodiscard]] auto begin() const { return values_.begin(); }
  [[nodiscard]] auto end() const { return values_.end(); }
  [[nodiscard]] IdType id_at(std::size_t index) const { return IdType{static_cast<std::uint32_t>(index)}; }

 private:
  std::vector<Value> values_;
};

}  // namespace cairn
