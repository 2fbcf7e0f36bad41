// The command link: rates and times, and in which of the two profiles commands travel.
//
// What hangs on other sections (the address, the longest command) is looked at when all of them have been
// read.

#include <algorithm>

#include "compiler/model/reader.h"

namespace cairn {

namespace {

void read_frames(Reader& reader, const YamlNode& node, FrameLayout& layout) {
  const Fields fields(reader, node, "`frames`",
                      {"spacecraft_id", "channel", "access_point", "longest", "type", "segments", "blocking",
                       "error_control"});
  if (!fields.is_map()) return;
  layout.spacecraft_id = static_cast<std::uint16_t>(fields.need_whole("spacecraft_id", 0, 1023));
  layout.channel = static_cast<std::uint8_t>(fields.whole("channel", 0, 63, 0));
  layout.access_point = static_cast<std::uint8_t>(fields.whole("access_point", 0, 63, 0));
  layout.longest = static_cast<std::uint16_t>(fields.whole("longest", 16, 1024, layout.longest));
  if (const YamlNode* type = fields.get("type")) {
    layout.in_sequence = reader.word(*type, "type of frame", {"in-sequence", "bypass"}) != 1U;
  }
  layout.segments = fields.flag("segments", layout.segments);
  layout.blocking = fields.flag("blocking", layout.blocking);
  layout.error_control = fields.flag("error_control", layout.error_control);
}

void read_link_units(Reader& reader, const YamlNode& node, UnitLayout& layout) {
  const Fields fields(reader, node, "`link_units`", {"randomized", "acquisition", "idle"});
  if (!fields.is_map()) return;
  layout.randomized = fields.flag("randomized", layout.randomized);
  layout.acquisition = static_cast<std::uint16_t>(fields.whole("acquisition", 0, 4096, layout.acquisition));
  layout.idle = static_cast<std::uint16_t>(fields.whole("idle", 0, 4096, layout.idle));
}

void read_words(Reader& reader, const YamlNode& node, WordLayout& layout) {
  const Fields fields(reader, node, "`words`", {"address_width", "body_width", "check", "repeats"});
  if (!fields.is_map()) return;
  layout.address_width = static_cast<int>(fields.need_whole("address_width", 1, 16));
  layout.body_width = static_cast<int>(fields.need_whole("body_width", 4, 32));
  if (const YamlNode* check = fields.need("check")) {
    layout.check = reader.word(*check, "check of a word", {"parity", "complement"}) == 0U
                       ? WordCheck::Parity
                       : WordCheck::Complement;
  }
  layout.repeats = static_cast<int>(fields.whole("repeats", 1, 15, 1));
  if (layout.width() % 8 != 0) {
    const int step = layout.check == WordCheck::Complement ? 2 : 1;
    std::string hint = "a whole number of octets is needed";
    for (int more = 1; more <= 8; ++more) {
      if ((layout.width() + more * step) % 8 == 0) {
        hint = "with `body_width: " + std::to_string(layout.body_width + more) + "` a word has " +
               std::to_string((layout.width() + more * step) / 8) + " octets";
        break;
      }
    }
    reader
        .report(diagnostics::ModelOutOfRange, node.span, "the width of a word",
                std::to_string(layout.width()) + " bits", "whole octets")
        .hint(hint);
  }
}

// Octets of packets that the longest command of the station takes.
std::size_t longest_insert(const Station& station) {
  std::size_t bits = 0;
  for (std::size_t i = 0; i < station.commands.size(); ++i) {
    std::size_t own = 0;
    for (const ArgumentDefinition& argument : station.commands[station.commands.id_at(i)].arguments) {
      own += static_cast<std::size_t>(argument.encoding.width);
    }
    bits = std::max(bits, own);
  }
  const StationClock& clock = station.clock;
  const std::size_t tag = clock.time_code == TimeCodeForm::DaySegmented
                              ? 9U
                              : 2U + static_cast<std::size_t>(clock.coarse_octets + clock.fine_octets);
  constexpr std::size_t around = 13;  // headers and error control of a packet
  return around + 1 + tag + around + 2 + (bits + 7) / 8;
}

}  // namespace

void read_link(Reader& reader, const YamlNode& node) {
  const Fields fields(reader, node, "`link`",
                      {"rate", "set_up", "margin", "gap", "application_id", "source_id", "profile", "frames",
                       "link_units", "words"});
  if (!fields.is_map()) return;
  CommandLink& link = reader.station.link;
  link.origin = reader.origin(node.span);
  link.rate = fields.need_exact("rate", dimensions::data_rate, positive);
  link.set_up = fields.duration("set_up", not_negative, {});
  link.margin = fields.duration("margin", not_negative, {});
  link.gap = fields.duration("gap", not_negative, {});
  link.application_id = static_cast<std::uint16_t>(fields.need_whole("application_id", 0, 2046));
  link.source_id = static_cast<std::uint16_t>(fields.whole("source_id", 0, 65535, 0));
  if (const YamlNode* profile = fields.get("profile")) {
    const auto found = reader.word(*profile, "profile of the link", {"packet", "word"});
    link.profile = found == 1U ? LinkProfile::Word : LinkProfile::Packet;
  }
  const bool words = link.profile == LinkProfile::Word;
  const auto not_here = [&](const char* key, const char* profile) {
    const YamlNode* found = fields.get(key);
    if (found == nullptr) return;
    reader.report(diagnostics::ModelUnknownKey, found->span, key, std::string("`link` of this profile"))
        .hint(std::string("it belongs to `profile: ") + profile + "`");
  };
  if (words) {
    not_here("frames", "packet");
    not_here("link_units", "packet");
    if (const YamlNode* layout = fields.need("words")) read_words(reader, *layout, link.words);
    return;
  }
  not_here("words", "word");
  if (const YamlNode* frames = fields.get("frames")) read_frames(reader, *frames, link.frames.emplace());
  const YamlNode* units = fields.get("link_units");
  if (units == nullptr) return;
  read_link_units(reader, *units, link.units.emplace());
  if (!link.frames) {
    reader.report(diagnostics::ModelMissingKey, units->span, "`link` with `link_units`", "frames")
        .hint("each link unit carries one frame: say what frames are like");
  }
}

void check_link(Reader& reader, const YamlNode& node) {
  const Station& station = reader.station;
  const CommandLink& link = station.link;
  if (link.profile == LinkProfile::Word) {
    const YamlNode* words = node.find("words");
    const Span place = words != nullptr ? words->span : node.span;
    if (station.address >> link.words.address_width != 0) {
      reader
          .report(diagnostics::ModelOutOfRange, place, "the station's address",
                  std::to_string(station.address),
                  "one that fits in " + std::to_string(link.words.address_width) + " bits")
          .hint("a larger `address_width` would make room");
    }
    std::uint16_t greatest = 0;
    for (std::size_t i = 0; i < station.commands.size(); ++i) {
      greatest = std::max(greatest, station.commands[station.commands.id_at(i)].number);
    }
    if (link.words.body_width < 16 && greatest >> link.words.body_width != 0) {
      reader
          .report(diagnostics::ModelOutOfRange, place, "the greatest command number",
                  std::to_string(greatest),
                  "one that fits in " + std::to_string(link.words.body_width) + " bits")
          .hint("a larger `body_width` would make room");
    }
    return;
  }
  if (!link.frames || link.frames->segments) return;
  const std::size_t room = link.frames->longest - 5U - (link.frames->error_control ? 2U : 0U);
  if (longest_insert(station) > room) {
    const YamlNode* frames = node.find("frames");
    reader
        .report(diagnostics::ModelOutOfRange, frames != nullptr ? frames->span : node.span,
                "the longest command of the station", std::to_string(longest_insert(station)) + " octets",
                "at most the " + std::to_string(room) + " that a frame holds")
        .hint("a larger `longest` makes room, or `segments: true` lets a packet be cut");
  }
}

}  // namespace cairn
