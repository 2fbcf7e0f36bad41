// What may be written at a place, told by the words before it.
//
// Reads the words of the statement up to the cursor, not the tree: what is being written has none yet.

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "compiler/editor/features.h"
#include "compiler/meaning/argument_words.h"
#include "compiler/meaning/program.h"
#include "compiler/syntax/mends.h"
#include "compiler/syntax/tokens.h"

namespace cairn {

namespace {

constexpr std::array units_of_measure{"s",    "min", "h", "d",  "ms", "W",  "mW", "J", "Wh",   "K",
                                      "degC", "deg", "m", "mm", "%",  "Hz", "V",  "A", "bit/s"};
constexpr std::array quantities{"sun.elevation", "sun.azimuth", "earth.elevation"};

class Completer {
 public:
  Completer(const Analysis& analysis, FileId file, std::uint32_t offset,
            const std::vector<std::string>& stations, const std::vector<std::string>& modules)
      : analysis_(analysis),
        station_(analysis.station ? &analysis.station->station : nullptr),
        file_(file),
        stations_(stations),
        modules_(modules),
        text_(analysis.files.text(file)),
        offset_(offset) {
    TokenSource source(text_.substr(0, offset), text_.starts_with("\xEF\xBB\xBF") ? 3 : 0, nullptr);
    for (Token token = source.next(); token.kind != TokenKind::EndOfFile; token = source.next()) {
      tokens_.push_back(token);
    }
  }

  std::vector<CompletionItem> run() {
    if (in_comment()) return {};
    // The word being written is no context.
    if (!tokens_.empty() && tokens_.back().end == offset_) {
      const TokenKind last = tokens_.back().kind;
      if (last == TokenKind::UnclosedText || (last == TokenKind::Text && tokens_.back().end > offset_)) {
        in_text_ = true;
        tokens_.pop_back();
      } else if (last == TokenKind::Name || last == TokenKind::Unit || is_word(last)) {
        tokens_.pop_back();
      }
    }
    begin_ = statement_begin();
    if (in_text_) return in_text();
    by_context();
    return std::move(items_);
  }

 private:
  [[nodiscard]] bool in_comment() const {
    const std::size_t line = offset_ == 0 ? 0 : text_.rfind('\n', offset_ - 1) + 1;
    std::vector<Token> comments;
    TokenSource source(text_.substr(0, offset_), line, &comments);
    while (source.next().kind != TokenKind::EndOfFile) {
    }
    return !comments.empty() && comments.back().end == offset_;
  }

  // The last `back` token; EndOfFile before the first.
  [[nodiscard]] TokenKind kind(std::size_t back) const {
    return back < tokens_.size() ? tokens_[tokens_.size() - 1 - back].kind : TokenKind::EndOfFile;
  }
  [[nodiscard]] std::string_view word(std::size_t back) const {
    if (back >= tokens_.size()) return {};
    const Token& token = tokens_[tokens_.size() - 1 - back];
    return text_.substr(token.begin, token.end - token.begin);
  }
  // The last keyword that begins a statement, as an index into the tokens.
  [[nodiscard]] std::size_t statement_begin() const {
    for (std::size_t i = tokens_.size(); i > 0; --i) {
      const TokenKind kind = tokens_[i - 1].kind;
      if (starts_item(kind) || starts_statement(kind) || kind == TokenKind::SpanWord) {
        // `for` and `from` may stand inside others.
        if (kind == TokenKind::For && i >= 3 && tokens_[i - 3].kind == TokenKind::Load) continue;
        return i - 1;
      }
      if (kind == TokenKind::OpenBrace || kind == TokenKind::CloseBrace) return i;
    }
    return 0;
  }
  [[nodiscard]] TokenKind first_kind() const {
    return begin_ < tokens_.size() ? tokens_[begin_].kind : TokenKind::EndOfFile;
  }
  [[nodiscard]] std::string_view statement_word(std::size_t index) const {
    if (begin_ + index >= tokens_.size()) return {};
    const Token& token = tokens_[begin_ + index];
    return text_.substr(token.begin, token.end - token.begin);
  }

  void add(std::string label, CompletionKind kind, std::string detail = {}, std::string documentation = {},
           std::string insert = {}) {
    items_.push_back(
        {std::move(label), kind, std::move(detail), std::move(documentation), std::move(insert)});
  }

  std::vector<CompletionItem> in_text() {
    if (first_kind() == TokenKind::Use) {
      for (const std::string& file : modules_) add(file, CompletionKind::File);
    }
    return std::move(items_);
  }

  void by_context() {
    if (tokens_.empty() || begin_ == tokens_.size()) return keywords();
    const TokenKind last = kind(0);
    if (last == TokenKind::For && kind(2) == TokenKind::Load) {
      for (const std::string& name : stations_) add(name, CompletionKind::Module, "station");
      return;
    }
    if (last == TokenKind::Number) {
      for (const char* unit : units_of_measure) add(unit, CompletionKind::Unit, "unit of measure");
      return;
    }
    if (last == TokenKind::Window) return antennas();
    if (last == TokenKind::Of) return blocks();
    switch (first_kind()) {
      case TokenKind::Send:
        return send();
      case TokenKind::Withdraw:
        return withdraw();
      case TokenKind::Bring:
        return bring();
      case TokenKind::Do:
        return call();
      default:
        break;
    }
    if (last == TokenKind::Colon && first_kind() == TokenKind::Routine) {
      for (const std::string& type : type_names()) add(type, CompletionKind::Unit, "type");
      return;
    }
    if (last == TokenKind::Mark || last == TokenKind::Let || last == TokenKind::Each ||
        last == TokenKind::Note)
      return;
    values();
    if (ends_value()) keywords();
  }

  [[nodiscard]] bool ends_value() const {
    const TokenKind last = kind(0);
    return last == TokenKind::Name || last == TokenKind::Unit || last == TokenKind::Instant ||
           last == TokenKind::Text || last == TokenKind::CloseParenthesis || last == TokenKind::Opens ||
           last == TokenKind::Closes;
  }

  void keywords() {
    std::size_t depth = 0;
    for (const Token& token : tokens_) {
      if (token.kind == TokenKind::OpenBrace) ++depth;
      if (token.kind == TokenKind::CloseBrace && depth > 0) --depth;
    }
    for (auto value = static_cast<std::uint8_t>(TokenKind::Use);
         value <= static_cast<std::uint8_t>(TokenKind::False); ++value) {
      const auto kind = static_cast<TokenKind>(value);
      const bool fits = depth == 0 ? starts_item(kind) || kind == TokenKind::Let
                                   : starts_statement(kind) || (depth == 1 && kind == TokenKind::SpanWord);
      if (fits) add(std::string(kind_spelling(kind)), CompletionKind::Keyword, std::string(form_of(kind)));
    }
  }

  void unit_names(bool with_commands) {
    if (station_ == nullptr) return;
    for (std::size_t i = 0; i < station_->units.size(); ++i) {
      const UnitId id = station_->units.id_at(i);
      const bool has_commands = std::any_of(station_->commands.begin(), station_->commands.end(),
                                            [id](const CommandDefinition& one) { return one.unit == id; });
      const bool has_states = !station_->units[id].parts.empty();
      if (with_commands ? has_commands : has_states) {
        add(station_->units[id].name, CompletionKind::Module, station_->units[id].note,
            unit_words(*station_, id));
      }
    }
  }

  void send() {
    if (kind(0) == TokenKind::Send) {
      add("now", CompletionKind::Keyword, std::string(form_of(TokenKind::Send)));
      return unit_names(true);
    }
    if (kind(0) == TokenKind::Now) return unit_names(true);
    const std::size_t unit_at =
        begin_ + 1 < tokens_.size() && tokens_[begin_ + 1].kind == TokenKind::Now ? 2 : 1;
    if (station_ == nullptr) return;
    const UnitId unit = find_unit(*station_, statement_word(unit_at));
    if (!unit.is_valid()) return;
    if (kind(0) == TokenKind::Dot && tokens_.size() - begin_ == unit_at + 2) {
      for (std::size_t i = 0; i < station_->commands.size(); ++i) {
        const CommandId id = station_->commands.id_at(i);
        if (station_->commands[id].unit == unit) command(id);
      }
      return;
    }
    const CommandId id = find_command(*station_, unit, statement_word(unit_at + 2));
    if (!id.is_valid()) return;
    const CommandDefinition& definition = station_->commands[id];
    if (kind(0) == TokenKind::Equals) {
      for (const ArgumentDefinition& argument : definition.arguments) {
        if (argument.name == word(1)) argument_values(argument);
      }
      return values();
    }
    for (std::uint32_t i = 0; i < definition.arguments.size(); ++i) {
      const std::string& name = definition.arguments[i].name;
      bool given = false;
      for (std::size_t at = begin_ + unit_at + 3; at + 1 < tokens_.size(); ++at) {
        const std::string_view said = text_.substr(tokens_[at].begin, tokens_[at].end - tokens_[at].begin);
        given = given || (said == name && tokens_[at + 1].kind == TokenKind::Equals);
      }
      if (!given) {
        add(name + "=", CompletionKind::Property, accepted_values(definition.arguments[i]),
            argument_words(*station_, id, i));
      }
    }
    if (ends_value() && first_kind() == TokenKind::Send) keywords();
  }

  // As `send`; what follows its `at` is completed as an instant.
  void withdraw() {
    if (kind(0) == TokenKind::Withdraw) return unit_names(true);
    send();
    if (tokens_.size() - begin_ >= 4 && ends_value()) {
      add("at", CompletionKind::Keyword, std::string(form_of(TokenKind::Withdraw)));
    }
  }

  void command(CommandId id) {
    const CommandDefinition& definition = station_->commands[id];
    std::string insert = definition.name;
    int place = 0;
    for (const ArgumentDefinition& argument : definition.arguments) {
      if (argument.default_number || argument.default_choice) continue;
      const std::string example = example_argument(argument);
      insert += fmt::format(" {}=${{{}:{}}}", argument.name, ++place, example.substr(example.find('=') + 1));
    }
    add(definition.name, CompletionKind::Method, definition.note, command_words(*station_, id),
        place > 0 ? insert : "");
  }

  void argument_values(const ArgumentDefinition& argument) {
    for (const Choice& choice : argument.choices) add(choice.name, CompletionKind::Member, "choice");
    if (argument.type == ArgumentType::Flag) {
      add("true", CompletionKind::Value);
      add("false", CompletionKind::Value);
    }
    for (const double allowed : argument.allowed)
      add(written_value(argument, allowed), CompletionKind::Value);
    if (argument.type == ArgumentType::Quantity || argument.type == ArgumentType::Count) {
      const std::string example = example_argument(argument);
      add(example.substr(example.find('=') + 1), CompletionKind::Value, accepted_values(argument));
    }
  }

  void bring() {
    if (kind(0) == TokenKind::Bring) return unit_names(false);
    if (station_ == nullptr) return;
    const UnitId unit = find_unit(*station_, statement_word(1));
    if (!unit.is_valid()) return;
    if (kind(0) == TokenKind::Dot) {
      for (const PartId part : station_->units[unit].parts) {
        const std::string& name = station_->parts[part].name;
        if (!name.empty()) add(name, CompletionKind::Property, "part", part_words(*station_, part));
      }
      return;
    }
    if (kind(0) == TokenKind::To) {
      const bool named = statement_word(2) == ".";
      const PartId part = find_part(*station_, unit, named ? statement_word(3) : std::string_view());
      if (!part.is_valid()) return;
      for (const StateId state : station_->parts[part].states) {
        add(station_->states[state].name, CompletionKind::Member, "state", state_words(*station_, state));
      }
      return;
    }
    if (kind(1) == TokenKind::To) return keywords();
    add("to", CompletionKind::Keyword);
  }

  void call() {
    if (kind(0) == TokenKind::Do) {
      for (const Tree& tree : analysis_.gathered.trees) {
        for (const Item& item : tree.items) {
          if (item.kind == ItemKind::Routine) routine(item);
        }
      }
      return;
    }
    if (kind(0) == TokenKind::Equals) return values();
    if (kind(0) == TokenKind::CloseParenthesis) return keywords();
    for (const Tree& tree : analysis_.gathered.trees) {
      for (const Item& item : tree.items) {
        if (item.kind != ItemKind::Routine || item.name.text != statement_word(1)) continue;
        for (const Parameter& parameter : item.parameters) {
          add(std::string(parameter.name.text) + "=", CompletionKind::Property,
              std::string(parameter.type.text));
        }
      }
    }
  }

  void routine(const Item& item) {
    std::string insert = std::string(item.name.text) + "(";
    std::string detail = insert;
    int place = 0;
    bool first = true;
    for (const Parameter& parameter : item.parameters) {
      detail += fmt::format("{}{}: {}", first ? "" : ", ", parameter.name.text, parameter.type.text);
      first = false;
      if (parameter.default_value.is_valid()) continue;
      insert += fmt::format("{}{}=${{{}:{}}}", place == 0 ? "" : ", ", parameter.name.text, place + 1,
                            parameter.type.text);
      ++place;
    }
    add(std::string(item.name.text), CompletionKind::Function, detail + ")", {}, insert + ")");
  }

  void antennas() {
    if (station_ == nullptr) return;
    for (const Antenna& antenna : station_->antennas) add(antenna.name, CompletionKind::Module, "antenna");
  }

  void blocks() {
    for (const Tree& tree : analysis_.gathered.trees) {
      for (const Statement& what : tree.statements) {
        if (what.kind == StatementKind::At && what.name.is_present()) {
          add(std::string(what.name.text), CompletionKind::Event, "block");
        }
      }
    }
  }

  // Constants, marks and parameters that can be meant here, quantities and facts.
  void values() {
    if (kind(0) == TokenKind::Equals && first_kind() == TokenKind::Mark) {
      for (const char* quantity : quantities) add(quantity, CompletionKind::Variable, "quantity");
      add("window", CompletionKind::Keyword);
      add("start of", CompletionKind::Keyword);
      add("end of", CompletionKind::Keyword);
    }
    for (const Tree& tree : analysis_.gathered.trees) {
      const bool own = tree.file == file_;
      for (const Item& item : tree.items) {
        if (item.kind == ItemKind::Let)
          add(std::string(item.name.text), CompletionKind::Variable, "constant");
        if (!own || offset_ < item.span.begin || offset_ > item.span.end) continue;
        for (const Parameter& parameter : item.parameters) {
          add(std::string(parameter.name.text), CompletionKind::Variable, "parameter");
        }
        inner_names(tree, item.first_child);
      }
    }
  }

  void inner_names(const Tree& tree, StatementId first) {
    for (StatementId id = first; id.is_valid(); id = tree.statements[id].next) {
      const Statement& what = tree.statements[id];
      if (what.kind == StatementKind::Let)
        add(std::string(what.name.text), CompletionKind::Variable, "constant");
      if (what.kind == StatementKind::Mark) add(std::string(what.name.text), CompletionKind::Event, "mark");
      const bool inside = what.span.begin <= offset_ && offset_ <= what.span.end;
      if (!inside) continue;
      if (what.kind == StatementKind::Each)
        add(std::string(what.name.text), CompletionKind::Variable, "value of each turn");
      inner_names(tree, what.first_child);
    }
  }

  const Analysis& analysis_;
  const Station* station_;
  FileId file_;
  const std::vector<std::string>& stations_;
  const std::vector<std::string>& modules_;
  std::string_view text_;
  std::uint32_t offset_;
  std::vector<Token> tokens_;
  std::size_t begin_ = 0;
  bool in_text_ = false;
  std::vector<CompletionItem> items_;
};

}  // namespace

std::vector<CompletionItem> complete(const Analysis& analysis, FileId file, std::uint32_t offset,
                                     const std::vector<std::string>& stations,
                                     const std::vector<std::string>& modules) {
  return Completer(analysis, file, offset, stations, modules).run();
}

}  // namespace cairn
