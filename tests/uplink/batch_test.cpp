// The fast way from commands to what goes on air gives the same octets as the plain one, for every kind of
// link.

#include "compiler/uplink/batch.h"

#include <gtest/gtest.h>

#include "tests/uplink/random_plan.h"

namespace cairn {
namespace {

TEST(Batch, PlainAndFastAgree) {
  std::mt19937_64 random(2310);
  EncodedBatch plain;
  EncodedBatch fast;  // used again and again
  for (int round = 0; round < 5000; ++round) {
    const LinkProfile profile = random() % 8 == 0 ? LinkProfile::Word : LinkProfile::Packet;
    const RandomPlan plan = random_plan(random, profile, random() % 12);
    std::vector<const TimedCommand*> commands;
    for (const TimedCommand& command : plan.commands) commands.push_back(&command);
    // Groups as they fit a frame together; a command that fits none stands alone.
    std::vector<std::size_t> group_ends;
    std::size_t octets = 0;
    for (std::size_t i = 0; i < commands.size(); ++i) {
      const std::size_t own = load_size(plan.station, plan.station.commands[commands[i]->command]).request;
      const bool shares = !group_ends.empty() && plan.station.link.frames && random() % 4 != 0 &&
                          octets + own <= frame_room(*plan.station.link.frames);
      octets = shares ? octets + own : own;
      if (shares) {
        group_ends.back() = i + 1;
      } else {
        group_ends.push_back(i + 1);
      }
    }
    const BatchInput input{&plan.station,
                           &published_leap_seconds(),
                           commands,
                           group_ends,
                           static_cast<std::uint32_t>(random() % 16384),
                           static_cast<std::uint8_t>(random())};
    encode_batch_plain(input, plain);
    encode_batch_fast(input, fast);
    ASSERT_EQ(plain.requests, fast.requests) << round;
    ASSERT_EQ(plain.on_air, fast.on_air) << round;
    EXPECT_EQ(plain.request_ends, fast.request_ends);
    EXPECT_EQ(plain.frames, fast.frames);
    EXPECT_EQ(plain.next_frame_count, fast.next_frame_count);
  }
}

}  // namespace
}  // namespace cairn
