// The six octets of the primary header, as a packet dissector that others wrote reads them (tshark).
//
// Only those: its space-packet dissector takes what follows for another agency's secondary header and does
// not know the error control. Packets travel as UDP payload in a capture file made by text2pcap.

#include <gtest/gtest.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iomanip>
#include <memory>
#include <random>
#include <sstream>

#include "compiler/uplink/packet.h"

namespace cairn {
namespace {

bool is_installed(const std::string& program) {
  return std::system(("command -v " + program + " >/dev/null 2>&1").c_str()) == 0;
}

// A folder of its own, gone again at the end.
class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::path(testing::TempDir()) / "cairn-dissector-XXXXXX").string();
    if (const char* made = mkdtemp(name.data())) path_ = made;
  }
  ~Folder() {
    std::error_code ignored;
    if (!path_.empty()) std::filesystem::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

// What a command line writes, line by line.
std::vector<std::string> lines_of(const std::string& command) {
  struct Close {
    void operator()(FILE* pipe) const { pclose(pipe); }
  };
  const std::unique_ptr<FILE, Close> pipe(popen(command.c_str(), "r"));
  std::string text;
  char buffer[4096];
  while (pipe && std::fgets(buffer, sizeof buffer, pipe.get()) != nullptr) text += buffer;
  std::vector<std::string> lines;
  std::istringstream stream(text);
  for (std::string line; std::getline(stream, line);) lines.push_back(line);
  return lines;
}

TEST(Dissector, ReadsThePrimaryHeadersAsTheyWereMeant) {
  for (const char* program : {"tshark", "text2pcap"}) {
    if (!is_installed(program)) {
      GTEST_SKIP() << program << " is not installed; the packets were not compared with an outside dissector";
    }
  }
  const Folder folder;
  ASSERT_FALSE(folder.path().empty());
  const std::filesystem::path dump = folder.path() / "packets.txt";
  const std::filesystem::path capture = folder.path() / "packets.pcap";

  std::mt19937 random(41);
  std::ofstream out(dump);
  std::vector<std::string> expected;
  for (int i = 0; i < 300; ++i) {
    Station station;
    station.link.application_id = static_cast<std::uint16_t>(random() % 2047);
    station.link.source_id = static_cast<std::uint16_t>(random());
    CommandDefinition definition;
    definition.unit = station.units.add({"box", "", {}, no_origin});
    definition.number = static_cast<std::uint16_t>(random());
    definition.arguments.resize(2 + random() % 20);
    for (ArgumentDefinition& argument : definition.arguments) {
      argument.encoding.width = 8 + static_cast<int>(random() % 57);
    }
    TimedCommand command{{2'300'000'000'000'000'000}, station.commands.add(definition), {}};
    for (const ArgumentDefinition& argument : definition.arguments) {
      const std::uint64_t bits = static_cast<std::uint64_t>(random()) << 32U | random();
      command.arguments.push_back({0, bits >> (64 - argument.encoding.width)});
    }
    const auto inner = static_cast<std::uint16_t>(random() % 16384);
    const auto outer = static_cast<std::uint16_t>((inner + 1U) % 16384);
    const Bytes request = request_packet(station, command, inner);
    const Bytes insert = insert_packet(station, command.time, request, outer, published_leap_seconds());
    const Bytes withdraw = delete_packet(station, inner, outer);
    const struct {
      const Bytes* bytes;
      unsigned count;
    } packets[] = {{&request, inner}, {&insert, outer}, {&withdraw, outer}};
    for (const auto& packet : packets) {
      std::ostringstream wanted;  // version, type, secondary header, application, flags, count, length - 1
      wanted << "0,1,1," << station.link.application_id << ",3," << packet.count << ','
             << packet.bytes->size() - 7;
      expected.push_back(wanted.str());
      out << "000000" << std::hex << std::setfill('0');
      for (const std::uint8_t byte : *packet.bytes) out << ' ' << std::setw(2) << static_cast<unsigned>(byte);
      out << std::dec << '\n';
    }
  }
  out.close();

  const std::string quoted_capture = "'" + capture.string() + "'";
  ASSERT_EQ(
      std::system(("text2pcap -q -u 5000,5000 '" + dump.string() + "' " + quoted_capture + " >/dev/null 2>&1")
                      .c_str()),
      0);
  const std::vector<std::string> lines = lines_of(
      "tshark -r " + quoted_capture +
      " -d udp.port==5000,ccsds -T fields -E separator=, -e ccsds.version -e ccsds.type -e ccsds.secheader"
      " -e ccsds.apid -e ccsds.seqflag -e ccsds.seqnum -e ccsds.length 2>/dev/null");
  EXPECT_EQ(lines, expected);
}

}  // namespace
}  // namespace cairn
