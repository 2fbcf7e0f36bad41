// One number, or one for each of the two bounds side by side: arithmetic on both at once.
//
// What is written for `double` and for `Pair` alike steps the nominal temperatures, or both bounds in one
// pass. Neither fuses multiplication and addition, so that all machines get the same bits.

#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace cairn {

using Pair = double __attribute__((vector_size(16)));

template <class Value>
inline constexpr std::size_t sides_of = sizeof(Value) / sizeof(double);

inline double magnitude(double x) { return __builtin_fabs(x); }
inline Pair magnitude(Pair x) { return x < 0.0 ? -x : x; }

template <class Value>
Value greater_of(Value a, Value b) {
  return a > b ? a : b;
}
template <class Value>
Value lesser_of(Value a, Value b) {
  return a < b ? a : b;
}

inline double of_side(double x, std::size_t) { return x; }
inline double of_side(Pair x, std::size_t side) { return x[side]; }
inline void set_side(double& x, std::size_t, double value) { x = value; }
inline void set_side(Pair& x, std::size_t side, double value) { x[side] = value; }

inline double greatest(double x) { return x; }
inline double greatest(Pair x) { return std::max(x[0], x[1]); }

// The same numbers one by one.
inline const double* plain(const std::vector<double>& values) { return values.data(); }
inline double* plain(std::vector<double>& values) { return values.data(); }
inline const double* plain(const std::vector<Pair>& values) {
  return reinterpret_cast<const double*>(values.data());
}
inline double* plain(std::vector<Pair>& values) { return reinterpret_cast<double*>(values.data()); }

template <class Value>
bool same(const std::vector<Value>& a, const std::vector<Value>& b, std::size_t count) {
  return std::equal(plain(a), plain(a) + count * sides_of<Value>, plain(b));
}

// Four plain numbers at once, in loops of their own.
using Lane = double __attribute__((vector_size(32), aligned(8), may_alias));
using LaneBits = std::int64_t __attribute__((vector_size(32), aligned(8), may_alias));
inline constexpr std::size_t lane = 4;
constexpr std::size_t whole_lanes(std::size_t count) { return (count + lane - 1) / lane * lane; }

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#define CAIRN_WIDEST __attribute__((target_clones("avx", "default")))
#else
#define CAIRN_WIDEST
#endif

}  // namespace cairn
