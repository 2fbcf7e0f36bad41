// The statements around each cause are what may move; what stands elsewhere in the load stays as it is.

#include "compiler/review/mend.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <set>

#include "compiler/review/difference.h"
#include "compiler/syntax/tokens.h"
#include "constraints/quantity/instant.h"

namespace cairn {

namespace {

// A missing `bring` weighs as much as a shift by ten minutes, another unit of the same kind as one by an
// hour, a repetition less as one by two hours, a block in two as one by four, a statement less as one by two
// days: what was meant to happen should still happen.
constexpr std::int64_t bring_cost = 600;
constexpr std::int64_t trim_cost = 7200;
constexpr std::int64_t swap_cost = 3600;
constexpr std::int64_t split_cost = 14'400;
constexpr std::int64_t remove_cost = 172'800;

constexpr std::array<std::int64_t, 24> steps{1,    2,     5,     10,    20,    30,    60,    120,
                                             180,  300,   600,   900,   1200,  1800,  2700,  3600,
                                             7200, 10800, 14400, 21600, 28800, 43200, 64800, 86400};

std::string seconds_text(std::int64_t seconds) { return to_text(seconds_to_duration(std::abs(seconds))); }

// "+ 10 min" in the words of the language: one quantity of one unit.
std::string signed_quantity(std::int64_t seconds) {
  const std::int64_t size = std::abs(seconds);
  const std::string_view sign = seconds < 0 ? "-" : "+";
  if (size % 3600 == 0) return fmt::format(" {} {} h", sign, size / 3600);
  if (size % 60 == 0) return fmt::format(" {} {} min", sign, size / 60);
  return fmt::format(" {} {} s", sign, size);
}

class Proposer {
 public:
  explicit Proposer(const MendInput& input) : input_(input), tree_(*input.tree) {}

  std::vector<Mend> all() {
    for (const Item& item : tree_.items) {
      if (item.kind == ItemKind::Load) visit(item.first_child);
    }
    brings();
    std::stable_sort(mends_.begin(), mends_.end(),
                     [](const Mend& a, const Mend& b) { return a.cost < b.cost; });
    return std::move(mends_);
  }

  [[nodiscard]] std::optional<Mend> shift(std::uint32_t family, std::int64_t seconds) const {
    if (family < tree_.statements.size())
      return shifted(tree_.statements[StatementId{family}], family, seconds);
    return std::nullopt;
  }

 private:
  [[nodiscard]] bool concerned(const Statement& statement) const {
    return std::any_of(input_.causes.begin(), input_.causes.end(), [&](const Span& cause) {
      return cause.file == statement.span.file && cause.begin < statement.span.end &&
             statement.span.begin < cause.end;
    });
  }

  void visit(StatementId first) {
    for (StatementId id = first; id.is_valid(); id = tree_.statements[id].next) {
      const Statement& statement = tree_.statements[id];
      if (!concerned(statement)) continue;
      switch (statement.kind) {
        case StatementKind::At:
        case StatementKind::Every:
        case StatementKind::After:
          shifts(id);
          break;
        default:
          break;
      }
      if (statement.kind == StatementKind::At || statement.kind == StatementKind::Every) swaps(statement);
      if (statement.kind == StatementKind::At) splits(statement);
      if (statement.kind == StatementKind::Every) trims(statement);
      if (statement.kind == StatementKind::Repeat) repeat_less(statement);
      const bool removable = statement.kind != StatementKind::Let && statement.kind != StatementKind::Mark &&
                             statement.kind != StatementKind::Note;
      if (removable) remove(statement);
      visit(statement.first_child);
    }
  }

  [[nodiscard]] Span span_of(ExpressionId id) const { return tree_.expressions[id].span; }

  [[nodiscard]] std::string head(const Statement& statement) const {
    std::string text(input_.files->text(statement.span));
    text = text.substr(0, std::min(text.find('\n'), text.find(" {")));
    return text;
  }

  [[nodiscard]] std::optional<Mend> shifted(const Statement& statement, std::uint32_t family,
                                            std::int64_t seconds) const {
    Mend mend;
    mend.family = family;
    mend.shift = seconds;
    mend.cost = std::abs(seconds);
    mend.words =
        fmt::format("shift `{}` by {}{}", head(statement), seconds < 0 ? "-" : "+", seconds_text(seconds));
    const auto after = [&](ExpressionId id) {
      const Span span = span_of(id);
      mend.edits.push_back({span.end, span.end, signed_quantity(seconds)});
    };
    switch (statement.kind) {
      case StatementKind::Every:
        after(statement.value);
        after(statement.second);
        return mend;
      case StatementKind::At:
      case StatementKind::After:
        after(statement.value);
        return mend;
      default:
        return std::nullopt;
    }
  }

  void shifts(StatementId id) {
    for (const std::int64_t step : steps) {
      for (const std::int64_t seconds : {step, -step}) {
        if (auto mend = shifted(tree_.statements[id], id.value, seconds)) mends_.push_back(std::move(*mend));
      }
    }
  }

  void trims(const Statement& statement) {
    const std::string step(input_.files->text(span_of(statement.third)));
    for (int count = 1; count <= 3; ++count) {
      std::string less;
      std::string more;
      for (int i = 0; i < count; ++i) {
        less += fmt::format(" - ({})", step);
        more += fmt::format(" + ({})", step);
      }
      Mend last;
      last.kind = MendKind::Trim;
      last.cost = trim_cost * count;
      last.words = fmt::format("leave out the last {} of `{}`", count, head(statement));
      last.edits = {{span_of(statement.second).end, span_of(statement.second).end, less}};
      Mend first = last;
      first.words = fmt::format("leave out the first {} of `{}`", count, head(statement));
      first.edits = {{span_of(statement.value).end, span_of(statement.value).end, more}};
      mends_.push_back(std::move(last));
      mends_.push_back(std::move(first));
    }
  }

  void repeat_less(const Statement& statement) {
    const Span span = span_of(statement.value);
    for (int count = 1; count <= 3; ++count) {
      Mend mend;
      mend.kind = MendKind::Trim;
      mend.cost = trim_cost * count;
      mend.words = fmt::format("repeat {} less in `{}`", count, head(statement));
      mend.edits = {{span.end, span.end, fmt::format(" - {}", count)}};
      mends_.push_back(std::move(mend));
    }
  }

  // Every word of the block that means the one means the other then: its parts, commands and states are named
  // after it.
  void swaps(const Statement& statement) {
    const std::string_view text = input_.files->text(statement.span.file);
    for (const auto& [from, to] : input_.alike) {
      Mend mend;
      TokenSource source(text, statement.span.begin, nullptr);
      for (Token token = source.next(); token.begin < statement.span.end; token = source.next()) {
        if (token.kind == TokenKind::EndOfFile) break;
        if (token.kind != TokenKind::Name) continue;
        const std::string_view word = text.substr(token.begin, token.end - token.begin);
        const bool means = word == from || (word.starts_with(from) && word[from.size()] == '-');
        if (!means) continue;
        const auto end = static_cast<std::uint32_t>(token.begin + from.size());
        mend.edits.push_back({token.begin, end, to});
      }
      if (mend.edits.empty()) continue;
      mend.kind = MendKind::Swap;
      mend.cost = swap_cost + static_cast<std::int64_t>(mend.edits.size());
      mend.words = fmt::format("use `{}` instead of `{}` in `{}`", to, from, head(statement));
      mends_.push_back(std::move(mend));
    }
  }

  // The statements from one of them on wait until a later window has brought them.
  void splits(const Statement& statement) {
    constexpr std::size_t most_windows = 4;
    std::vector<const Statement*> parts;
    for (StatementId id = statement.first_child; id.is_valid(); id = tree_.statements[id].next)
      parts.push_back(&tree_.statements[id]);
    if (parts.size() < 2) return;
    const std::string_view text = input_.files->text(statement.span.file);
    std::uint32_t line = statement.span.begin;
    while (line > 0 && (text[line - 1] == ' ' || text[line - 1] == '\t')) --line;
    const std::string indent(text.substr(line, statement.span.begin - line));
    // In halves first, then in quarters: which part is too much is not known.
    std::vector<std::size_t> cuts{parts.size() / 2};
    for (const std::size_t cut : {parts.size() / 4, 3 * parts.size() / 4, parts.size() - 1}) {
      if (cut > 0 && std::find(cuts.begin(), cuts.end(), cut) == cuts.end()) cuts.push_back(cut);
    }
    for (std::size_t w = 0; w < std::min(most_windows, input_.window_begins.size()); ++w) {
      for (std::size_t i = 0; i < cuts.size(); ++i) {
        const std::uint32_t at = parts[cuts[i]]->span.begin;
        Mend mend;
        mend.kind = MendKind::Split;
        mend.cost = split_cost + static_cast<std::int64_t>(3600 * w + i);
        mend.words = fmt::format("split `{}` before its statement {}, and run the rest at {}",
                                 head(statement), cuts[i] + 1, input_.window_begins[w]);
        mend.edits = {{at, at, fmt::format("}}\n{}at {} {{\n{}  ", indent, input_.window_begins[w], indent)}};
        // The brace closes the block where the statement stood.
        std::uint32_t before = at;
        while (before > 0 && (text[before - 1] == ' ' || text[before - 1] == '\t')) --before;
        if (before > 0 && text[before - 1] == '\n') {
          mend.edits[0].begin = before;
          mend.edits[0].text = indent + mend.edits[0].text;
        }
        mends_.push_back(std::move(mend));
      }
    }
  }

  void remove(const Statement& statement) {
    Mend mend;
    mend.kind = MendKind::Remove;
    mend.words = fmt::format("leave out `{}`", head(statement));
    const std::string_view text = input_.files->text(statement.span.file);
    std::uint32_t begin = statement.span.begin;
    std::uint32_t end = statement.span.end;
    // With its line, when it has it for itself.
    std::uint32_t line = begin;
    while (line > 0 && (text[line - 1] == ' ' || text[line - 1] == '\t')) --line;
    if ((line == 0 || text[line - 1] == '\n') && end < text.size() && text[end] == '\n') {
      begin = line;
      ++end;
    }
    mend.edits = {{begin, end, ""}};
    mend.cost = remove_cost + (end - begin);
    mends_.push_back(std::move(mend));
  }

  void brings() {
    std::set<std::pair<std::uint32_t, std::string>> said;
    for (const WantedState& wanted : input_.wanted) {
      if (wanted.before.file != tree_.file) continue;
      const std::string statement = fmt::format("bring {} to {}", wanted.unit, wanted.state);
      if (!said.insert({wanted.before.begin, statement}).second) continue;
      const std::string_view text = input_.files->text(wanted.before.file);
      std::uint32_t line = wanted.before.begin;
      while (line > 0 && text[line - 1] != '\n') --line;
      std::uint32_t first = line;
      while (first < text.size() && (text[first] == ' ' || text[first] == '\t')) ++first;
      Mend mend;
      mend.kind = MendKind::Bring;
      mend.cost = bring_cost + static_cast<std::int64_t>(said.size());
      mend.words = fmt::format("insert `{}`", statement);
      mend.edits = {{first, first, statement + "\n" + std::string(text.substr(line, first - line))}};
      mends_.push_back(std::move(mend));
    }
  }

  const MendInput& input_;
  const Tree& tree_;
  std::vector<Mend> mends_;
};

std::size_t count_lines(const std::string& text) {
  return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n')) +
         (!text.empty() && text.back() != '\n' ? 1U : 0U);
}

}  // namespace

std::vector<Mend> possible_mends(const MendInput& input) { return Proposer(input).all(); }

std::optional<Mend> with_shift(const MendInput& input, const Mend& mend, std::int64_t seconds) {
  if (mend.kind != MendKind::Shift) return std::nullopt;
  return Proposer(input).shift(mend.family, seconds);
}

std::string with_edits(std::string_view text, std::vector<LoadEdit> edits) {
  std::sort(edits.begin(), edits.end(),
            [](const LoadEdit& a, const LoadEdit& b) { return a.begin < b.begin; });
  std::string out;
  std::size_t at = 0;
  for (const LoadEdit& edit : edits) {
    out += text.substr(at, edit.begin - at);
    out += edit.text;
    at = edit.end;
  }
  return out + std::string(text.substr(at));
}

std::string unified_patch(const std::string& name, const std::string& before, const std::string& after) {
  // Runs without lines around them, so that each applies by its own place: what `diff -U0` writes.
  std::string out = fmt::format("--- a/{}\n+++ b/{}\n", name, name);
  const bool ends = before.empty() || before.back() == '\n';
  const bool new_ends = after.empty() || after.back() == '\n';
  const std::size_t old_lines = count_lines(before);
  const std::size_t new_lines = count_lines(after);
  for (const LineDifference& run : compare_lines(before, after)) {
    const std::size_t olds = run.old_lines.size();
    const std::size_t news = run.new_lines.size();
    out += fmt::format("@@ -{},{} +{},{} @@\n", olds == 0 ? run.old_first - 1 : run.old_first, olds,
                       news == 0 ? run.new_first - 1 : run.new_first, news);
    for (std::size_t i = 0; i < olds; ++i) {
      out += "-" + run.old_lines[i] + "\n";
      if (!ends && run.old_first + i == old_lines) out += "\\ No newline at end of file\n";
    }
    for (std::size_t i = 0; i < news; ++i) {
      out += "+" + run.new_lines[i] + "\n";
      if (!new_ends && run.new_first + i == new_lines) out += "\\ No newline at end of file\n";
    }
  }
  return out;
}

}  // namespace cairn
