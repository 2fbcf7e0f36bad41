// Events of yaml-cpp to our own tree: places in bytes, keys unique, aliases expanded within bounds.
//
// The library's exceptions and types stop here, and its messages are reworded. It gives only where a token
// begins; the end of a scalar is found again in the text.

#include "compiler/model/load_yaml.h"

#include <yaml-cpp/depthguard.h>
#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <cstdint>
#include <exception>
#include <map>
#include <sstream>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>

#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

struct StopReading {};  // thrown out of the library's events once a mistake is reported that ends the reading

// The first byte that is neither part of well-formed UTF-8 nor allowed in YAML; npos when there is none.
std::size_t first_bad_byte(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    const auto byte = [&](std::size_t at) -> std::uint32_t {
      return at < text.size() ? static_cast<unsigned char>(text[at]) : 0U;
    };
    const std::uint32_t lead = byte(i);
    if (lead < 0x80) {
      const bool control = (lead < 0x20 && lead != '\t' && lead != '\n' && lead != '\r') || lead == 0x7F;
      if (control) return i;
      ++i;
      continue;
    }
    const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
    if (lead < 0xC2 || lead > 0xF4) return i;
    for (std::size_t k = 1; k < length; ++k) {
      if ((byte(i + k) & 0xC0U) != 0x80U) return i;
    }
    const std::uint32_t second = byte(i + 1);
    const bool wrong = (lead == 0xE0 && second < 0xA0) || (lead == 0xED && second > 0x9F) ||
                       (lead == 0xF0 && second < 0x90) || (lead == 0xF4 && second > 0x8F);
    if (wrong) return i;
    i += length;
  }
  return std::string_view::npos;
}

class TreeBuilder : public YAML::EventHandler {
 public:
  TreeBuilder(std::string_view text, FileId file, const YamlLimits& limits, Diagnostics& diagnostics)
      : text_(text), file_(file), limits_(limits), diagnostics_(diagnostics) {}

  YamlNode take_root() { return std::move(root_); }
  [[nodiscard]] Span span_at(int position, std::size_t length) const {
    const std::size_t begin = std::min(static_cast<std::size_t>(std::max(position, 0)), text_.size());
    const std::size_t end = std::min(begin + length, text_.size());
    return {file_, static_cast<std::uint32_t>(begin), static_cast<std::uint32_t>(end)};
  }

  // Where the innermost list or map that is still open begins.
  [[nodiscard]] std::optional<Span> innermost() const {
    if (frames_.empty()) return std::nullopt;
    return span_at(static_cast<int>(skip_properties(frames_.back().mark.pos)), 1);
  }

  void OnDocumentStart(const YAML::Mark&) override {}
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    YamlNode node;
    const std::size_t begin = skip_properties(mark.pos);
    for (const std::string_view word : {"~", "null", "Null", "NULL"}) {
      if (text_.substr(begin).starts_with(word)) node.span = span_at(static_cast<int>(begin), word.size());
    }
    place(std::move(node), mark, anchor);
  }

  void OnAlias(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    const auto found = anchors_.find(anchor);
    if (found == anchors_.end()) stop(span_at(mark.pos, 1), "the alias stands inside what it stands for");
    count(found->second.nodes, found->second.text_bytes, mark);
    if (frames_.size() + found->second.depth > limits_.depth) too_deep(mark);
    YamlNode copy = found->second.node;
    add(std::move(copy), mark, found->second.depth);
  }

  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override {
    refuse_tag(mark, tag);
    YamlNode node;
    node.kind = NodeKind::Scalar;
    node.text = value;
    const std::size_t begin = skip_properties(mark.pos);
    node.quoted =
        begin < text_.size() && std::string_view("\"'|>").find(text_[begin]) != std::string_view::npos;
    const std::size_t length = scalar_length(begin, value);
    // The library takes the end of the file for a closing quote.
    if (length == std::string_view::npos)
      stop(span_at(static_cast<int>(begin), 1), "the text has no closing quote");
    node.span = span_at(static_cast<int>(begin), length);
    place(std::move(node), mark, anchor);
  }

  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    open(NodeKind::Sequence, mark, tag, anchor);
  }
  void OnSequenceEnd() override { close(); }
  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override {
    open(NodeKind::Map, mark, tag, anchor);
  }
  void OnMapEnd() override { close(); }

 private:
  struct Anchored {
    YamlNode node;
    std::size_t nodes = 0;
    std::size_t text_bytes = 0;
    std::size_t depth = 0;
  };
  struct Frame {
    YamlNode node;
    YAML::Mark mark;
    YAML::anchor_t anchor = 0;
    bool has_key = false;
    bool dropped = false;  // the value of a duplicate key
    std::string key;
    Span key_span;
    std::unordered_map<std::string, Span> seen;
    std::size_t nodes_before = 0;
    std::size_t text_before = 0;
    std::size_t depth_below = 1;
  };

  [[noreturn]] void stop(Span span, std::string message) {
    diagnostics_.report(diagnostics::ModelYamlSyntax, span, std::move(message));
    throw StopReading{};
  }

  [[noreturn]] void too_deep(const YAML::Mark& mark) {
    diagnostics_.report(diagnostics::ModelTooLarge, span_at(mark.pos, 1), "the nesting", limits_.depth,
                        "levels");
    throw StopReading{};
  }

  void refuse_tag(const YAML::Mark& mark, const std::string& tag) {
    if (tag.empty() || tag == "?" || tag == "!") return;
    stop(span_at(mark.pos, 1), "a tag such as `!name` has no meaning in a station file");
  }

  void count(std::size_t nodes, std::size_t bytes, const YAML::Mark& mark) {
    nodes_ += nodes;
    text_bytes_ += bytes;
    if (nodes_ > limits_.nodes) {
      diagnostics_.report(diagnostics::ModelTooLarge, span_at(mark.pos, 1),
                          "the file with its aliases written out", limits_.nodes, "values");
      throw StopReading{};
    }
    if (text_bytes_ > limits_.text_bytes) {
      diagnostics_.report(diagnostics::ModelTooLarge, span_at(mark.pos, 1),
                          "the text with its aliases written out", limits_.text_bytes, "bytes");
      throw StopReading{};
    }
  }

  void open(NodeKind kind, const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor) {
    refuse_tag(mark, tag);
    if (frames_.size() >= limits_.depth) too_deep(mark);
    Frame frame;
    frame.nodes_before = nodes_;
    frame.text_before = text_bytes_;
    count(1, 0, mark);
    frame.node.kind = kind;
    frame.node.span = span_at(static_cast<int>(skip_properties(mark.pos)), 1);
    frame.mark = mark;
    frame.anchor = anchor;
    frames_.push_back(std::move(frame));
  }

  void close() {
    Frame frame = std::move(frames_.back());
    frames_.pop_back();
    if (frame.node.kind == NodeKind::Map && !frame.node.entries.empty() && frame.node.span.is_valid() &&
        frame.node.span.begin < text_.size() && text_[frame.node.span.begin] != '{') {
      frame.node.span = frame.node.entries.front().key_span;
    }
    remember(frame.anchor, frame.node, nodes_ - frame.nodes_before, text_bytes_ - frame.text_before,
             frame.depth_below, frame.mark);
    add(std::move(frame.node), frame.mark, frame.depth_below);
  }

  void place(YamlNode node, const YAML::Mark& mark, YAML::anchor_t anchor) {
    const std::size_t bytes = node.text.size();
    count(1, bytes, mark);
    remember(anchor, node, 1, bytes, 0, mark);
    add(std::move(node), mark, 0);
  }

  void remember(YAML::anchor_t anchor, const YamlNode& node, std::size_t nodes, std::size_t bytes,
                std::size_t depth, const YAML::Mark& mark) {
    if (anchor == 0) return;
    count(nodes, bytes, mark);
    anchors_[anchor] = {node, nodes, bytes, depth};
  }

  void add(YamlNode node, const YAML::Mark& mark, std::size_t depth) {
    if (frames_.empty()) {
      root_ = std::move(node);
      return;
    }
    Frame& frame = frames_.back();
    frame.depth_below = std::max(frame.depth_below, depth + 1);
    if (frame.node.kind == NodeKind::Sequence) {
      if (!node.span.is_valid()) node.span = span_at(mark.pos, 1);
      frame.node.items.push_back(std::move(node));
      return;
    }
    if (!frame.has_key) {
      if (node.kind != NodeKind::Scalar) stop(span_at(mark.pos, 1), "a key must be plain text");
      frame.has_key = true;
      frame.key = std::move(node.text);
      frame.key_span = node.span;
      const auto [earlier, is_new] = frame.seen.emplace(frame.key, frame.key_span);
      frame.dropped = !is_new;
      if (!is_new) {
        diagnostics_.report(diagnostics::ModelDuplicateKey, frame.key_span, frame.key)
            .context(earlier->second, "it stands here first")
            .hint("keep one of the two");
        if (++duplicates_ >= most_duplicates) throw StopReading{};
      }
      return;
    }
    frame.has_key = false;
    if (frame.dropped) return;
    // A container, or nothing at all, is shown by its key: that is what the reader looks for.
    if (node.kind != NodeKind::Scalar) node.span = frame.key_span;
    frame.node.entries.push_back({std::move(frame.key), frame.key_span, std::move(node)});
  }

  // Past `&anchor` and `!tag` to the value itself.
  [[nodiscard]] std::size_t skip_properties(int position) const {
    std::size_t at = std::min(static_cast<std::size_t>(std::max(position, 0)), text_.size());
    while (at < text_.size() && (text_[at] == '&' || text_[at] == '!')) {
      at = std::min(text_.find_first_of(" \t\r\n", at), text_.size());
      at = std::min(text_.find_first_not_of(" \t\r\n", at), text_.size());
    }
    return at;
  }

  // In bytes of the text; npos when a quote is not closed.
  [[nodiscard]] std::size_t scalar_length(std::size_t begin, const std::string& value) const {
    const std::string_view rest = text_.substr(begin);
    if (rest.empty()) return 0;
    if (rest[0] == '"' || rest[0] == '\'') {
      for (std::size_t i = 1; i < rest.size(); ++i) {
        if (rest[0] == '"' && rest[i] == '\\') {
          ++i;
        } else if (rest[i] == rest[0]) {
          if (rest[0] == '"' || i + 1 >= rest.size() || rest[i + 1] != '\'') return i + 1;
          ++i;
        }
      }
      return std::string_view::npos;
    }
    if (rest.starts_with(value)) return value.size();
    return std::min(rest.find('\n'), rest.size());
  }

  static constexpr std::size_t most_duplicates = 100;

  std::string_view text_;
  FileId file_;
  const YamlLimits& limits_;
  Diagnostics& diagnostics_;
  YamlNode root_;
  std::vector<Frame> frames_;
  std::map<YAML::anchor_t, Anchored> anchors_;
  std::size_t nodes_ = 0;
  std::size_t text_bytes_ = 0;
  std::size_t duplicates_ = 0;
};

// The library's words are about its own tokens; these are about the file.
std::string reworded(std::string_view message) {
  struct Pair {
    std::string_view theirs;
    std::string_view ours;
  };
  constexpr Pair pairs[] = {
      {"referenced anchor", "an alias with a name that no anchor before it has"},
      {"alias", "an alias with a name that cannot be one"},
      {"anchor", "an anchor with a name that cannot be one"},
      {"map flow", "a `{` is not closed, or a `,` between two keys is missing"},
      {"sequence flow", "a `[` is not closed, or a `,` between two values is missing"},
      {"end of map",
       "this continues neither the map before it nor any other; is the indentation right, or a `,` or a "
       "quote missing?"},
      {"end of sequence",
       "this continues neither the list before it nor any other; is the indentation right, or a `- ` "
       "missing?"},
      {"map value", "a `:` where no value may begin; does a text with `: ` in it lack its quotes?"},
      {"block entry", "a `- ` where no list may begin"},
      {"map key", "a `? ` where no key may begin"},
      {"flow end", "a closing bracket that nothing opens"},
      {"EOF", "the text ends before a quote is closed"},
      {"document indicator", "a line of `---` or `...` inside a text"},
      {"block scalar", "a character that cannot follow `|` or `>`"},
      {"illegal tab", "a tab in the indentation; use spaces"},
      {"unknown escape", "an unknown escape; inside double quotes write `\\\\` for a backslash"},
      {"hex number", "an escape whose digits are no hexadecimal number"},
      {"invalid unicode", "an escape that stands for no character"},
      {"unknown token", "a character that cannot begin a value here; does a text lack its quotes?"},
      {"tag", "a tag such as `!name` has no meaning in a station file"},
      {"directive", "a `%` line has no meaning in a station file"},
      {"version", "a `%` line has no meaning in a station file"},
  };
  for (const Pair& pair : pairs) {
    if (message.find(pair.theirs) != std::string_view::npos) return std::string(pair.ours);
  }
  return "this is no YAML that can be read; are the brackets, quotes and indentation right?";
}

}  // namespace

std::optional<YamlNode> load_yaml(const SourceFiles& files, FileId file, const YamlLimits& limits,
                                  Diagnostics& diagnostics) {
  const std::string_view whole = files.text(file);
  const Span start{file, 0, 0};
  if (whole.size() > limits.file_bytes) {
    diagnostics.report(diagnostics::ModelTooLarge, start, "the file", limits.file_bytes, "bytes");
    return std::nullopt;
  }
  if (const std::size_t bad = first_bad_byte(whole); bad != std::string_view::npos) {
    const auto at = static_cast<std::uint32_t>(bad);
    diagnostics.report(diagnostics::ModelYamlSyntax, Span{file, at, at + 1},
                       "a byte that is no UTF-8 text, or a control character");
    return std::nullopt;
  }
  // A byte order mark would shift the library's places; as empty lines it is harmless.
  std::string text(whole);
  if (text.starts_with("\xEF\xBB\xBF")) text.replace(0, 3, "\n\n\n");
  TreeBuilder builder(text, file, limits, diagnostics);
  try {
    std::istringstream stream(text);
    YAML::Parser parser(stream);
    if (!parser.HandleNextDocument(builder))
      return YamlNode{.span = start, .text = {}, .items = {}, .entries = {}};
    YamlNode root = builder.take_root();
    TreeBuilder rest(text, file, limits, diagnostics);
    if (parser.HandleNextDocument(rest)) {
      YamlNode second = rest.take_root();
      diagnostics.report(diagnostics::ModelYamlSyntax, second.span.is_valid() ? second.span : start,
                         "a second document; a station file holds one");
      return std::nullopt;
    }
    if (!root.span.is_valid()) root.span = start;
    return root;
  } catch (const StopReading&) {
    return std::nullopt;
  } catch (const YAML::DeepRecursion& problem) {
    diagnostics.report(diagnostics::ModelTooLarge, builder.span_at(problem.mark.pos, 1), "the nesting",
                       limits.depth, "levels");
  } catch (const YAML::Exception& problem) {
    // An unclosed bracket is met at the end of the file; the one to mend stands where it opens.
    const bool unclosed = problem.msg.find("flow not found") != std::string::npos;
    const Span met = builder.span_at(problem.mark.pos, 1);
    const Span place = unclosed ? builder.innermost().value_or(met) : met;
    auto report = diagnostics.report(diagnostics::ModelYamlSyntax, place, reworded(problem.msg));
    if (place != met) report.context(met, "the end is still not met here");
  } catch (const std::exception&) {
    diagnostics.report(diagnostics::ModelYamlSyntax, start, reworded(""));
  }
  return std::nullopt;
}

}  // namespace cairn
