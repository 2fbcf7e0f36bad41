// ANTLR's types and exceptions stop in this file.
//
// The error strategy below never mends and never prints: it notes the tokens that the grammar would accept at
// the first mistake, and gives up.

#include "compiler/syntax/antlr_adapter.h"

#include <CairnLexer.h>
#include <CairnParser.h>
#include <antlr4-runtime.h>

#include <exception>
#include <memory>
#include <string>

namespace cairn {
namespace {

using generated::CairnLexer;
using generated::CairnParser;

static_assert(CairnLexer::BadCharacter == static_cast<int>(TokenKind::BadCharacter));
static_assert(CairnLexer::Name == static_cast<int>(TokenKind::Name));
static_assert(CairnLexer::OpenBrace == static_cast<int>(TokenKind::OpenBrace));
static_assert(CairnLexer::OpenBracket == static_cast<int>(TokenKind::OpenBracket));
static_assert(CairnLexer::Greater == static_cast<int>(TokenKind::Greater));
static_assert(CairnLexer::Each == static_cast<int>(TokenKind::Each));
static_assert(CairnLexer::Reference == static_cast<int>(TokenKind::Reference));
static_assert(CairnLexer::Use == static_cast<int>(TokenKind::Use));
static_assert(CairnLexer::False == static_cast<int>(TokenKind::False));
static_assert(CairnLexer::Slash == static_cast<int>(TokenKind::Slash));

TokenKind to_kind(std::size_t type) {
  return type == antlr4::Token::EOF ? TokenKind::EndOfFile : static_cast<TokenKind>(type);
}

class FirstMistake : public antlr4::DefaultErrorStrategy {
 public:
  std::vector<TokenKind> expected;

  void reportError(antlr4::Parser* /*parser*/, const antlr4::RecognitionException& /*mistake*/) override {}
  void sync(antlr4::Parser* /*parser*/) override {}
  void recover(antlr4::Parser* parser, std::exception_ptr /*mistake*/) override { give_up(parser); }
  antlr4::Token* recoverInline(antlr4::Parser* parser) override {
    give_up(parser);
    return nullptr;
  }

 private:
  void give_up(antlr4::Parser* parser) {
    for (const ssize_t type : parser->getExpectedTokens().toList()) {
      if (type > 0) expected.push_back(static_cast<TokenKind>(type));
    }
    throw antlr4::ParseCancellationException();
  }
};

void run_rule(CairnParser& parser, TokenKind first) {
  switch (first) {
    case TokenKind::Use:
      parser.use();
      break;
    case TokenKind::Load:
      parser.loadHead();
      break;
    case TokenKind::Routine:
      parser.routineHead();
      break;
    case TokenKind::SpanWord:
      parser.spanLine();
      break;
    case TokenKind::At:
      parser.atHead();
      break;
    case TokenKind::After:
      parser.statement();
      break;
    case TokenKind::From:
      parser.everyHead();
      break;
    case TokenKind::Together:
      parser.togetherHead();
      break;
    case TokenKind::For:
      parser.eachHead();
      break;
    case TokenKind::Rule:
      parser.ruleHead();
      break;
    case TokenKind::Repeat:
      parser.repeatHead();
      break;
    case TokenKind::If:
      parser.ifHead();
      break;
    case TokenKind::Else:
      parser.elsePart();
      break;
    case TokenKind::Let:
    case TokenKind::Mark:
    case TokenKind::Note:
    case TokenKind::Send:
    case TokenKind::Bring:
    case TokenKind::Withdraw:
    case TokenKind::Do:
    case TokenKind::Require:
    case TokenKind::Expect:
    case TokenKind::Waive:
      parser.leaf();
      break;
    default:
      parser.sentence();
      break;
  }
}

class CountNodes {
 public:
  static std::size_t of(antlr4::tree::ParseTree* root) {
    std::size_t count = 0;
    std::vector<antlr4::tree::ParseTree*> open{root};
    while (!open.empty()) {
      antlr4::tree::ParseTree* node = open.back();
      open.pop_back();
      ++count;
      open.insert(open.end(), node->children.begin(), node->children.end());
    }
    return count;
  }
};

}  // namespace

std::vector<TokenKind> expected_tokens(std::span<const Token> statement) {
  if (statement.empty()) return {};
  const auto strategy = std::make_shared<FirstMistake>();
  try {
    std::vector<std::unique_ptr<antlr4::Token>> tokens;
    for (const Token& token : statement) {
      if (token.kind == TokenKind::EndOfFile) break;
      tokens.push_back(std::make_unique<antlr4::CommonToken>(static_cast<std::size_t>(token.kind), "-"));
    }
    tokens.push_back(std::make_unique<antlr4::CommonToken>(antlr4::Token::EOF, "-"));
    antlr4::ListTokenSource source(std::move(tokens));
    antlr4::CommonTokenStream stream(&source);
    CairnParser parser(&stream);
    parser.removeErrorListeners();
    parser.setBuildParseTree(false);
    parser.setErrorHandler(strategy);
    run_rule(parser, statement.front().kind);
  } catch (const std::exception&) {
    // The mistake was found: the strategy has noted it.
  }
  return strategy->expected;
}

std::vector<Token> generated_tokens(std::string_view text) {
  antlr4::ANTLRInputStream input{std::string(text)};
  CairnLexer lexer(&input);
  lexer.removeErrorListeners();
  // ANTLR counts characters, we count bytes.
  std::vector<std::uint32_t> byte_of;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if ((static_cast<unsigned char>(text[i]) & 0xC0U) != 0x80U)
      byte_of.push_back(static_cast<std::uint32_t>(i));
  }
  byte_of.push_back(static_cast<std::uint32_t>(text.size()));
  std::vector<Token> result;
  for (;;) {
    const std::unique_ptr<antlr4::Token> token = lexer.nextToken();
    if (token->getType() == antlr4::Token::EOF) break;
    if (token->getChannel() != antlr4::Token::DEFAULT_CHANNEL) continue;
    result.push_back(
        {to_kind(token->getType()), byte_of[token->getStartIndex()], byte_of[token->getStopIndex() + 1]});
  }
  const auto end = static_cast<std::uint32_t>(text.size());
  result.push_back({TokenKind::EndOfFile, end, end});
  return result;
}

PlainResult plain_parse(std::string_view text) {
  antlr4::ANTLRInputStream input{std::string(text)};
  CairnLexer lexer(&input);
  lexer.removeErrorListeners();
  antlr4::CommonTokenStream stream(&lexer);
  stream.fill();
  CairnParser parser(&stream);
  parser.removeErrorListeners();
  antlr4::tree::ParseTree* tree = parser.file();
  return {parser.getNumberOfSyntaxErrors(), stream.size(), CountNodes::of(tree)};
}

}  // namespace cairn
