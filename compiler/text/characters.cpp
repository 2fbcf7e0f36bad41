// Reading UTF-8 character by character. Widths follow the blocks of the Unicode standard, coarsely: a width
// that is wrong shifts a mark by a column and does no other harm.

#include "compiler/text/characters.h"

#include <algorithm>
#include <array>

namespace cairn {

namespace {

struct Block {
  char32_t first;
  char32_t last;
};

template <std::size_t size>
bool lies_in(const std::array<Block, size>& blocks, char32_t code) {
  return std::any_of(blocks.begin(), blocks.end(),
                     [&](const Block& block) { return code >= block.first && code <= block.last; });
}

// Combining marks, joiners, variation selectors.
constexpr std::array<Block, 9> no_width{{{0x0300, 0x036F},
                                         {0x0483, 0x0489},
                                         {0x0591, 0x05BD},
                                         {0x064B, 0x065F},
                                         {0x1AB0, 0x1AFF},
                                         {0x1DC0, 0x1DFF},
                                         {0x200C, 0x200D},
                                         {0x20D0, 0x20FF},
                                         {0xFE00, 0xFE0F}}};

// Hangul, kana, ideographs, full-width forms, pictographs.
constexpr std::array<Block, 11> wide{{{0x1100, 0x115F},
                                      {0x2E80, 0x303E},
                                      {0x3041, 0x33FF},
                                      {0x3400, 0x4DBF},
                                      {0x4E00, 0x9FFF},
                                      {0xA000, 0xA4CF},
                                      {0xAC00, 0xD7A3},
                                      {0xF900, 0xFAFF},
                                      {0xFF00, 0xFF60},
                                      {0x1F300, 0x1FAFF},
                                      {0x20000, 0x3FFFD}}};

// What a terminal would obey rather than show: controls, and marks that reorder or hide what stands around
// them.
constexpr std::array<Block, 8> obeyed{{{0x0000, 0x001F},
                                       {0x007F, 0x009F},
                                       {0x061C, 0x061C},
                                       {0x200B, 0x200B},
                                       {0x200E, 0x200F},
                                       {0x2028, 0x202E},
                                       {0x2060, 0x206F},
                                       {0xFEFF, 0xFEFF}}};

}  // namespace

Character character_at(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char lead = byte(at);
  if (lead < 0x80) return {lead, 1, true};
  const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
  if (lead < 0xC2 || lead > 0xF4 || at + length > text.size()) return {};
  char32_t code = lead & (0xFFU >> (length + 1));
  for (std::size_t i = at + 1; i < at + length; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U) return {};
    code = (code << 6U) | (byte(i) & 0x3FU);
  }
  constexpr std::array<char32_t, 5> least{0, 0, 0x80, 0x800, 0x10000};
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  if (code < least[length] || code > 0x10FFFF || surrogate) return {};
  return {code, length, true};
}

int columns_of(char32_t code) {
  if (code < 0x300) return 1;
  if (lies_in(no_width, code)) return 0;
  return lies_in(wide, code) ? 2 : 1;
}

std::string shown(std::string_view text, const Character& character, std::size_t at) {
  if (!character.well_formed) return ".";
  if (character.code == U'\t' || character.code == U'\n') return " ";
  if (lies_in(obeyed, character.code)) return ".";
  return std::string(text.substr(at, character.length));
}

std::string shown(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const Character character = character_at(text, at);
    out += shown(text, character, at);
    at += character.length;
  }
  return out;
}

std::string well_formed(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const Character character = character_at(text, at);
    out += character.well_formed ? text.substr(at, character.length) : std::string_view("\xEF\xBF\xBD");
    at += character.length;
  }
  return out;
}

}  // namespace cairn
