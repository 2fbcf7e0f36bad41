// A block without a name goes by its head ("from dusk to dawn every 6 h"), which changes when its times do.
// Such a block is still the same when it stands in the same file and asks for mostly the same commands.

#include "compiler/review/pair_plans.h"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

namespace cairn {

namespace {

struct Block {
  std::string file;
  std::size_t line = 0;
  std::size_t size = 0;
  std::map<std::string, std::size_t> commands;
};

Place outermost(const ReviewedCommand& command) {
  return command.calls.empty() ? command.source : command.calls.front();
}

std::map<std::string, Block> blocks_of(const ReviewedPlan& plan) {
  std::map<std::string, Block> blocks;
  for (const ReviewedCommand& command : plan.commands) {
    Block& block = blocks[command.block];
    const Place place = outermost(command);
    if (block.size == 0 || place.line < block.line) block.line = place.line;
    block.file = place.file;
    ++block.size;
    ++block.commands[command.command];
  }
  return blocks;
}

std::size_t shared_commands(const Block& a, const Block& b) {
  std::size_t shared = 0;
  for (const auto& [command, count] : a.commands) {
    const auto found = b.commands.find(command);
    if (found != b.commands.end()) shared += std::min(count, found->second);
  }
  return shared;
}

// New name by old name, for blocks whose names stand on one side only.
std::map<std::string, std::string> follow_blocks(const ReviewedPlan& before, const ReviewedPlan& after) {
  const auto olds = blocks_of(before);
  const auto news = blocks_of(after);
  // Likeness in thousandths, turned so that the most alike come first; then the nearest lines.
  std::set<std::tuple<std::int64_t, std::size_t, std::string, std::string>> candidates;
  for (const auto& [old_name, old_block] : olds) {
    if (news.contains(old_name)) continue;
    for (const auto& [new_name, new_block] : news) {
      if (olds.contains(new_name) || old_block.file != new_block.file) continue;
      const std::size_t likeness =
          2000 * shared_commands(old_block, new_block) / (old_block.size + new_block.size);
      if (likeness < 500) continue;
      const std::size_t apart =
          std::max(old_block.line, new_block.line) - std::min(old_block.line, new_block.line);
      candidates.emplace(-static_cast<std::int64_t>(likeness), apart, old_name, new_name);
    }
  }
  std::map<std::string, std::string> followed;
  std::set<std::string> taken;
  for (const auto& [likeness, apart, old_name, new_name] : candidates) {
    if (followed.contains(old_name) || !taken.insert(new_name).second) continue;
    followed.emplace(old_name, new_name);
  }
  return followed;
}

// Equal keys, equal numbers.
template <class Key>
class Numbers {
 public:
  std::uint32_t of(const Key& key) {
    return numbers_.emplace(key, static_cast<std::uint32_t>(numbers_.size())).first->second;
  }

 private:
  std::map<Key, std::uint32_t> numbers_;
};

using IntentKey = std::tuple<std::string, std::string, std::string, std::vector<std::string>>;
using StatementKey = std::tuple<std::vector<Place>, Place>;

class Numbering {
 public:
  std::vector<MatchItem> items(const ReviewedPlan& plan, const std::map<std::string, std::string>& followed) {
    std::vector<MatchItem> items;
    std::map<std::uint32_t, std::set<StatementKey>> statements;
    for (const ReviewedCommand& command : plan.commands) {
      const auto renamed = followed.find(command.block);
      std::vector<std::string> callers;
      for (const Place& call : command.calls) callers.push_back(call.file);
      MatchItem item;
      item.intent = intents_.of({renamed == followed.end() ? command.block : renamed->second, command.command,
                                 command.source.file, callers});
      item.command = commands_.of(command.command);
      item.arguments = arguments_.of(command.arguments);
      item.time = command.instant.tai_nanoseconds;
      items.push_back(item);
      statements[item.intent].insert({command.calls, command.source});
    }
    for (std::size_t i = 0; i < items.size(); ++i) {
      const auto& known = statements[items[i].intent];
      const auto place = known.find({plan.commands[i].calls, plan.commands[i].source});
      items[i].statement = static_cast<std::uint32_t>(std::distance(known.begin(), place));
    }
    return items;
  }

 private:
  Numbers<IntentKey> intents_;
  Numbers<std::string> commands_;
  Numbers<std::string> arguments_;
};

}  // namespace

PairedPlans pair_plans(const ReviewedPlan& before, const ReviewedPlan& after) {
  PairedPlans result;
  const auto followed = follow_blocks(before, after);
  Numbering numbering;
  const std::vector<MatchItem> olds = numbering.items(before, followed);
  const std::vector<MatchItem> news = numbering.items(after, {});
  result.pairs = match_commands(olds, news);
  result.renamed_blocks.assign(followed.begin(), followed.end());
  return result;
}

}  // namespace cairn
