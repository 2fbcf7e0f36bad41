// decode(encode(plan)) = plan, for 100,000 random plans of random dictionaries, half of them in each profile,
// one command in four to run when it is received.

#include <gtest/gtest.h>

#include "compiler/uplink/decoder/decoder.h"
#include "tests/uplink/random_plan.h"

namespace cairn {
namespace {

void round_trips(LinkProfile profile, std::uint64_t seed, int rounds) {
  std::mt19937_64 random(seed);
  for (int round = 0; round < rounds; ++round) {
    const RandomPlan plan = random_plan(random, profile, 1 + random() % 4, true);
    const auto first_frame = static_cast<std::uint8_t>(random());
    const Bytes bytes = encoded(plan, first_frame);
    const Decoded decoded = decode(bytes, plan.station, published_leap_seconds());
    ASSERT_TRUE(decoded.problems.empty()) << round << ": " << decoded.problems.front().message;
    ASSERT_TRUE(decoded.corrections.empty()) << round << ": " << decoded.corrections.front().message;
    ASSERT_EQ(decoded.requests.size(), plan.commands.size()) << round;
    std::size_t at = 0;
    for (std::size_t i = 0; i < plan.commands.size(); ++i) {
      const DecodedRequest& request = decoded.requests[i];
      const TimedCommand& command = plan.commands[i];
      ASSERT_EQ(request.kind, command.immediate ? RequestKind::Execute : RequestKind::Insert);
      if (!command.immediate) {
        ASSERT_EQ(request.time, command.time);
      }
      ASSERT_EQ(request.command, command.command);
      ASSERT_EQ(request.arguments.size(), command.arguments.size());
      for (std::size_t a = 0; a < request.arguments.size(); ++a) {
        ASSERT_EQ(request.arguments[a].raw, command.arguments[a].raw);
        ASSERT_EQ(request.arguments[a].number, command.arguments[a].number);
      }
      ASSERT_GE(request.offset + request.size, at);
      at = request.offset + request.size;
      ASSERT_LE(at, bytes.size());
      // What is predicted before encoding is what comes of it.
      const CommandDefinition& definition = plan.station.commands[command.command];
      const RequestSize size =
          command.immediate ? immediate_size(plan.station, definition) : load_size(plan.station, definition);
      ASSERT_EQ(size.entry == 0, command.immediate);
      ASSERT_EQ(size.request, request.octets.size());
      if (plan.commands.size() == 1) {
        ASSERT_EQ(size.on_air, bytes.size());
      }
    }
    if (profile == LinkProfile::Packet && plan.station.link.frames && plan.station.link.frames->in_sequence) {
      ASSERT_EQ(decoded.requests[0].frame, first_frame);
    }
  }
}

TEST(RoundTrip, FiftyThousandPlansInPackets) { round_trips(LinkProfile::Packet, 133, 50'000); }
TEST(RoundTrip, FiftyThousandPlansInWords) { round_trips(LinkProfile::Word, 77, 50'000); }

}  // namespace
}  // namespace cairn
