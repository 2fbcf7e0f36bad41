// All rates at once, in lanes: an exponential of its own, so that all machines get the same bits.

#include "constraints/heat/answers.h"

#include "constraints/heat/lanes.h"

namespace cairn {

namespace {

// e^r for |r| at most half of ln 2, by its series: 1/k!, highest first.
constexpr double exponential[] = {
    1.0 / 6227020800, 1.0 / 479001600, 1.0 / 39916800, 1.0 / 3628800, 1.0 / 362880, 1.0 / 40320, 1.0 / 5040,
    1.0 / 720,        1.0 / 120,       1.0 / 24,       1.0 / 6,       0.5,          1.0,         1.0};
// phi4 = 1/4! - x/5! + x^2/6! - ..., highest first.
constexpr double fourth[] = {1.0 / 87178291200, 1.0 / 6227020800, 1.0 / 479001600, 1.0 / 39916800,
                             1.0 / 3628800,     1.0 / 362880,     1.0 / 40320,     1.0 / 5040,
                             1.0 / 720,         1.0 / 120,        1.0 / 24};

CAIRN_WIDEST void find_all(const double* rates, double seconds, std::size_t count, double* decays,
                           double* phi1s, double* phi2s, double* phi3s, double* phi4s) {
  for (std::size_t k = 0; k < count; k += lane) {
    const Lane x = *reinterpret_cast<const Lane*>(rates + k) * seconds;
    constexpr double slow_below = 0.5;
    std::size_t slow = 0;
    for (std::size_t i = 0; i < lane; ++i) slow += x[i] < slow_below ? 1U : 0U;

    // Where the quotients below would lose digits: the series, and up from it.
    Lane phi4 = x * 0.0;
    if (slow > 0) {
      for (const double term : fourth) phi4 = term - x * phi4;
    }
    Lane phi3 = 1.0 / 6 - x * phi4;
    Lane phi2 = 0.5 - x * phi3;
    Lane phi1 = 1.0 - x * phi2;
    Lane decay = 1.0 - x * phi1;

    if (slow < lane) {
      // Adding so large a number rounds to whole ones, and leaves them in its last bits.
      constexpr double rounder = 6755399441055744.0;  // 1.5 * 2^52
      constexpr double log2_e = 1.4426950408889634;
      constexpr double ln2_high = 6.93147180369123816490e-01;  // few bits: a whole number of them is exact
      constexpr double ln2_low = 1.90821492927058770002e-10;
      const Lane y = x > 700.0 ? x * 0.0 - 700.0 : -x;
      const Lane rounded = y * log2_e + rounder;
      const Lane whole = rounded - rounder;
      const Lane rest = (y - whole * ln2_high) - whole * ln2_low;
      Lane sum = x * 0.0;
      for (const double term : exponential) sum = sum * rest + term;
      const LaneBits power = (reinterpret_cast<const LaneBits&>(rounded) << 52) + (std::int64_t{1023} << 52);
      const Lane gone = sum * reinterpret_cast<const Lane&>(power);
      const auto fast = x >= slow_below;
      const Lane inverse = 1.0 / x;
      decay = fast ? gone : decay;
      phi1 = fast ? (1.0 - decay) * inverse : phi1;
      phi2 = fast ? (1.0 - phi1) * inverse : phi2;
      phi3 = fast ? (0.5 - phi2) * inverse : phi3;
      phi4 = fast ? (1.0 / 6 - phi3) * inverse : phi4;
    }
    *reinterpret_cast<Lane*>(decays + k) = decay;
    *reinterpret_cast<Lane*>(phi1s + k) = phi1;
    *reinterpret_cast<Lane*>(phi2s + k) = phi2;
    *reinterpret_cast<Lane*>(phi3s + k) = phi3;
    *reinterpret_cast<Lane*>(phi4s + k) = phi4;
  }
}

}  // namespace

Answers::Answers(std::size_t count) : decay(count), phi1(count), phi2(count), phi3(count), phi4(count) {}

void Answers::find(const double* rates, double seconds) {
  find_all(rates, seconds, decay.size(), decay.data(), phi1.data(), phi2.data(), phi3.data(), phi4.data());
}

}  // namespace cairn
