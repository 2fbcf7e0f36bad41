// What a broken or hostile client may send: the server answers with an error or not at all, and goes on.

#include <random>

#include "tests/editor/client.h"

namespace cairn::test {
namespace {

std::string message(const std::string& body) {
  return "Content-Length: " + std::to_string(body.size()) + "\r\n\r\n" + body;
}

TEST(Framing, TakesMessagesInAnyPieces) {
  const std::string bytes = message("{\"a\":1}") + "content-length:2\nX-Other: y\n\n{}" + message("");
  for (std::size_t piece = 1; piece < bytes.size(); ++piece) {
    MessageReader reader;
    std::vector<std::string> found;
    for (std::size_t at = 0; at < bytes.size(); at += piece) {
      reader.add(std::string_view(bytes).substr(at, piece));
      while (auto one = reader.next()) found.push_back(*one);
    }
    EXPECT_EQ(found, (std::vector<std::string>{"{\"a\":1}", "{}", ""})) << piece;
    EXPECT_EQ(reader.broken(), "");
  }
}

TEST(Framing, BreaksOnWhatCannotBeSkipped) {
  for (const std::string& head :
       {std::string("Content-Length: -1\r\n\r\n"),
        std::string("Content-Length: 99999999999999999999999\r\n\r\n"),
        std::string("Content-Length: 1e3\r\n\r\n"), std::string("Content-Length: 67108865\r\n\r\n"),
        std::string("\r\n{}"), std::string("no colon\r\n\r\n"), std::string(9000, 'x'),
        std::string("Content-Length: 2\r\nContent-Length: 3\r\n\r\n{}"),
        "Content-Length:" + std::string(9000, ' ') + "2\r\n\r\n{}"}) {
    MessageReader reader;
    reader.add(head);
    EXPECT_FALSE(reader.next()) << head.substr(0, 40);
    EXPECT_NE(reader.broken(), "") << head.substr(0, 40);
    reader.add(message("{}"));
    EXPECT_FALSE(reader.next());
  }
}

TEST(Hostile, EveryBrokenMessageIsAnsweredAndOutlived) {
  Client client;
  client.start();
  const std::vector<std::pair<std::string, int>> cases{
      {"", -32700},
      {"{", -32700},
      {"\xff\xfe", -32700},
      {std::string(100000, '['), -32700},
      {std::string(70, '[') + std::string(70, ']'), -32700},
      {"[]", -32600},
      {"3", -32600},
      {"null", -32600},
      {"{\"id\":1}", -32600},
      {"{\"id\":1,\"method\":7}", -32600},
      {"{\"id\":1,\"method\":\"no/such\"}", -32601},
      {"{\"id\":1,\"method\":\"initialize\"}", -32600},
      {"{\"id\":1,\"method\":\"textDocument/rename\"}", -32803}};
  for (const auto& [body, code] : cases) {
    client.received.clear();
    client.raw(message(body));
    ASSERT_EQ(client.received.size(), 1U) << body.substr(0, 60);
    EXPECT_EQ(client.received[0]["error"]["code"], code) << body.substr(0, 60);
  }
  // Answers to questions never asked, and notices that say nothing.
  for (
      const char* body :
      {R"({"id":5,"result":null})", R"({"method":"textDocument/didOpen"})", R"({"method":"x","params":[]})",
       R"({"method":"textDocument/didChange","params":{"textDocument":{"uri":"file:///no"},"contentChanges":[{"text":3}]}})",
       R"({"method":"textDocument/didOpen","params":{"textDocument":{"uri":"ftp://x","text":"a"}}})",
       R"({"method":"textDocument/didClose","params":{"textDocument":{"uri":[]}}})",
       R"({"method":"$/cancelRequest","params":{"id":1}})"}) {
    client.received.clear();
    client.raw(message(body));
    EXPECT_TRUE(client.received.empty()) << body;
  }
  client.settle();
  for (const char* method :
       {"hover", "completion", "definition", "references", "formatting", "documentSymbol",
        "semanticTokens/full", "inlayHint", "codeAction", "prepareRename"}) {
    const auto answer = client.ask(
        "textDocument/" + std::string(method),
        {{"textDocument", {{"uri", "file:///nowhere"}}}, {"position", {{"line", -5}, {"character", 1e30}}}});
    EXPECT_TRUE(answer.contains("result")) << method;
  }
}

TEST(Hostile, StatesAreKept) {
  Client client;
  client.raw(message(R"({"id":1,"method":"shutdown"})"));
  EXPECT_EQ(client.received.back()["error"]["code"], -32002);
  client.start();
  EXPECT_TRUE(client.ask("shutdown", nullptr).contains("result"));
  EXPECT_EQ(client.ask("textDocument/hover", nullptr)["error"]["code"], -32600);
  EXPECT_FALSE(client.server.ended());
  client.tell("exit", nullptr);
  EXPECT_TRUE(client.server.ended_well());
  Client rude;
  rude.start();
  rude.tell("exit", nullptr);
  EXPECT_TRUE(rude.server.ended());
  EXPECT_FALSE(rude.server.ended_well());
}

// Random edits, many of them out of bounds or backwards, and every request in between. The text is kept here
// as well, by the plain way, and must be the same in the end.
TEST(Hostile, RandomEditsAndRequests) {
  const std::vector<std::string> pieces{"\n",
                                        "{",
                                        "}",
                                        "\"",
                                        "send camera.expose ",
                                        "at sunset",
                                        "\u00e4",
                                        "\U0001F319",
                                        " ",
                                        "#",
                                        "load \"x\" for alder {",
                                        "let q = q\n",
                                        "mark m = end of m\n",
                                        "2031-05-14T06:00:00Z",
                                        "\r",
                                        "use \"../routines/park.cairn\""};
  const std::vector<std::string> methods{"hover",          "completion",          "definition", "references",
                                         "documentSymbol", "semanticTokens/full", "inlayHint",  "codeAction",
                                         "formatting",     "prepareRename",       "rename"};
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    std::mt19937_64 random(seed);
    const auto number = [&random](std::size_t most) {
      return std::uniform_int_distribution<std::size_t>(0, most)(random);
    };
    Client client;
    client.start();
    std::string text = client.host.files.at("/project/loads/alder-41-evening.cairn");
    client.open("loads/alder-41-evening.cairn", text);
    for (int turn = 0; turn < 40; ++turn) {
      const TextLines lines(text);
      const std::size_t first = number(text.size());
      const auto begin = lines.position(text, static_cast<std::uint32_t>(first));
      const auto end =
          lines.position(text, static_cast<std::uint32_t>(std::min(text.size(), first + number(6))));
      const std::string& piece = pieces[number(pieces.size() - 1)];
      const auto from = lines.offset(text, begin);
      text.replace(from, lines.offset(text, end) - from, piece);
      client.change(
          "loads/alder-41-evening.cairn",
          {{"range", Client::range(begin.line, begin.character, end.line, end.character)}, {"text", piece}});
      const auto answer =
          client.ask("textDocument/" + methods[number(methods.size() - 1)],
                     {{"textDocument", {{"uri", Client::uri("loads/alder-41-evening.cairn")}}},
                      {"position", {{"line", number(50)}, {"character", number(40)}}},
                      {"range", Client::range(0, 0, 999, 0)},
                      {"newName", "other"}});
      EXPECT_TRUE(answer.contains("result") || answer.contains("error"));
      if (number(5) == 0) client.settle();
    }
    client.settle();
    // Taken back to the good text in one change of the whole, the same is said as at the start.
    client.change("loads/alder-41-evening.cairn",
                  {{"text", client.host.files.at("/project/loads/alder-41-evening.cairn")}});
    client.settle();
    for (const auto& one : client.diagnostics[Client::uri("loads/alder-41-evening.cairn")])
      EXPECT_NE(one["severity"], 1) << one;
  }
}

}  // namespace
}  // namespace cairn::test
