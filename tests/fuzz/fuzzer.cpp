// One entry under libFuzzer; which one is chosen when it is compiled.
//
// Half of all load texts are put together from the words of the language, so that they get past the first
// line.

#include <algorithm>
#include <array>
#include <cstring>
#include <random>
#include <string_view>

#include "tests/fuzz/entries.h"
#ifdef CAIRN_FUZZ_SENTENCES
#include "tests/syntax/random_program.h"
#endif

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  cairn::test::CAIRN_FUZZ_ENTRY({data, size});
  return 0;
}

#ifdef CAIRN_FUZZ_SENTENCES
extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t most);

// Raw octets one time in two; otherwise a program made from the grammar stands in a place of the text.
extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size, std::size_t most,
                                               unsigned seed) {
  if (seed % 2 == 0) return LLVMFuzzerMutate(data, size, most);
  std::mt19937_64 random(seed);
  const std::vector<std::string> words = cairn::test::random_words(random);
  std::string text(reinterpret_cast<const char*>(data), size);
  std::string piece;
  if (!words.empty()) {
    const std::size_t from = random() % words.size();
    const std::size_t count = 1 + random() % std::min<std::size_t>(words.size() - from, 60);
    for (std::size_t i = from; i < from + count; ++i) piece += words[i] + (random() % 6 == 0 ? "\n" : " ");
  }
  const std::size_t at = random() % (text.size() + 1);
  const std::size_t gone = random() % (std::min<std::size_t>(text.size() - at, 40) + 1);
  text.replace(at, gone, piece);
  text.resize(std::min(text.size(), most));
  std::memcpy(data, text.data(), text.size());
  return text.size();
}
#endif
