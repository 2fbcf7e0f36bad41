// The translation check must find what is planted: a check that never fails proves nothing.

#include <gmock/gmock.h>

#include "compiler/uplink/packet.h"
#include "tests/plan/made_plan.h"

namespace cairn::test {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

class TranslationCheck : public ::testing::Test {
 protected:
  TranslationCheck() : made_(make_plan()) {}
  void SetUp() override {
    ASSERT_FALSE(made_->text.empty()) << made_->rendered();
    ASSERT_THAT(check(), IsEmpty());
    ASSERT_FALSE(made_->staging.batches.empty());
  }
  std::vector<std::string> check() {
    return translation_check(made_->station.station, made_->timeline.commands, made_->staging,
                             published_leap_seconds());
  }
  Batch& batch() { return made_->staging.batches.front(); }
  std::unique_ptr<MadePlan> made_;
};

TEST_F(TranslationCheck, FindsEveryFlippedBit) {
  for (std::size_t octet = 0; octet < batch().bytes.size(); ++octet) {
    for (unsigned bit = 0; bit < 8; ++bit) {
      batch().bytes[octet] ^= static_cast<std::uint8_t>(1U << bit);
      EXPECT_THAT(check(), Not(IsEmpty())) << "octet " << octet << " bit " << bit;
      batch().bytes[octet] ^= static_cast<std::uint8_t>(1U << bit);
    }
  }
  for (std::size_t octet = 0; octet < made_->staging.backout.size(); ++octet) {
    made_->staging.backout[octet] ^= 1U;
    EXPECT_THAT(check(), Not(IsEmpty())) << "backout octet " << octet;
    made_->staging.backout[octet] ^= 1U;
  }
}

TEST_F(TranslationCheck, FindsAnotherTime) {
  made_->timeline.commands[0].time = made_->timeline.commands[0].time + seconds_to_duration(1);
  EXPECT_THAT(check(),
              ElementsAre(HasSubstr("command 1: the bytes hold another execution time, -1 s apart")));
}

TEST_F(TranslationCheck, FindsAnotherArgument) {
  made_->timeline.commands[0].arguments[0].raw = 0;
  EXPECT_THAT(check(), ElementsAre("command 1: the bytes hold another value of `position`"));
}

TEST_F(TranslationCheck, FindsAnotherCommand) {
  std::swap(made_->timeline.commands[0].command, made_->timeline.commands[1].command);
  EXPECT_THAT(check(), Contains(HasSubstr("command 1: the bytes hold another command")));
}

TEST_F(TranslationCheck, FindsWhatIsMissing) {
  const std::size_t size = made_->staging.commands[batch().commands.back().value].packet.size();
  batch().bytes.resize(batch().bytes.size() - size);
  EXPECT_THAT(check(), Contains(HasSubstr("requests where")));
}

TEST_F(TranslationCheck, FindsACommandSentTwice) {
  const Bytes& packet = made_->staging.commands[batch().commands.front().value].packet;
  batch().bytes.insert(batch().bytes.end(), packet.begin(), packet.end());
  batch().commands.push_back(batch().commands.front());
  EXPECT_THAT(check(), Contains("command 1: it is 2 times in the batches, not 1"));
}

TEST_F(TranslationCheck, FindsAListThatShowsOtherBytes) {
  made_->staging.commands[0].packet.back() ^= 1U;
  EXPECT_THAT(check(), ElementsAre("command 1: the list shows another packet than the batch"));
}

TEST_F(TranslationCheck, FindsACommandLeftInByTheBackout) {
  const std::uint16_t target = made_->staging.commands[0].sequence_count;
  Bytes without;
  for (const StagedCommand& staged : made_->staging.commands) {
    if (staged.sequence_count == target) continue;
    const Bytes packet = delete_packet(made_->station.station, staged.sequence_count, 100);
    without.insert(without.end(), packet.begin(), packet.end());
  }
  made_->staging.backout = without;
  EXPECT_THAT(check(), ElementsAre("the backout does not withdraw exactly what the batches load"));
}

}  // namespace
}  // namespace cairn::test
