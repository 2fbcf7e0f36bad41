// When the checks are made, and what an editor is told in the meantime: on a text that changes while they
// run.

#include <algorithm>

#include "compiler/text/catalogue.h"
#include "tests/editor/client.h"

namespace cairn::test {
namespace {

using Json = Client::Json;

const std::string path = "loads/alder-41-evening.cairn";
const std::string other = "loads/birch-03-listening.cairn";

class WhileChecking : public testing::Test {
 protected:
  WhileChecking() {
    client.start();
    // The checks of this test find something at the load's name.
    client.host.say = [](const SequencedLoad& load, Diagnostics& diagnostics) {
      diagnostics.report(diagnostics::OutsideLoad, load.name_span, std::to_string(load.commands.size()));
    };
    open(path);
    client.publish();
  }
  void open(const std::string& file) {
    client.open(file, client.host.files.at("/project/" + file));
    text = client.texts[path];
  }
  Json hover() {
    return {{"textDocument", {{"uri", Client::uri(path)}}},
            {"position", Client::position(text, "camera.expose", 0, 9)}};
  }
  void insert_line() {
    client.change(path, {{"range", Client::range(0, 0, 0, 0)}, {"text", "# one more\n"}});
  }
  std::vector<Json> found() {
    std::vector<Json> list;
    for (const Json& one : client.diagnostics[Client::uri(path)]) {
      if (one["code"] == "syntax/outside-load") list.push_back(one["range"]["start"]["line"]);
    }
    return list;
  }

  Client client;
  std::string text;
};

TEST_F(WhileChecking, TextIsToldOfFirstAndFindingsStayAtTheirPlaces) {
  EXPECT_TRUE(client.diagnostics.contains(Client::uri(path)));
  EXPECT_EQ(client.host.checks, 0U);
  EXPECT_TRUE(found().empty());
  client.settle();
  const Json line = Client::position(text, "\"alder-41-evening\"", 0, 0)["line"];
  ASSERT_EQ(found(), std::vector<Json>{line});
  insert_line();
  client.publish();
  EXPECT_EQ(client.host.checks, 1U);
  EXPECT_EQ(found(), std::vector<Json>{line.get<int>() + 1});  // before the new checks
  // A mistake in the text: only that is told of; when it is mended, what was known is there again.
  client.change(path, {{"range", Client::range(0, 0, 0, 0)}, {"text", "}"}});
  client.publish();
  EXPECT_TRUE(found().empty());
  client.change(path, {{"range", Client::range(0, 0, 0, 1)}, {"text", ""}});
  client.publish();
  EXPECT_EQ(found(), std::vector<Json>{line.get<int>() + 1});
  // A change at the very place takes the finding away until it is found again.
  client.change(path,
                {{"range", Client::range(line.get<std::size_t>() + 1, 6, line.get<std::size_t>() + 1, 7)},
                 {"text", "x"}});
  client.publish();
  EXPECT_TRUE(found().empty());
  client.host.say = nullptr;
  client.settle();
  EXPECT_TRUE(found().empty());
}

TEST_F(WhileChecking, WhatComesTooLateIsDropped) {
  const auto first = client.begin_check();
  ASSERT_NE(first, nullptr);
  EXPECT_EQ(client.server.take_check(), nullptr);  // one at a time
  insert_line();
  const std::size_t before = client.received.size();
  EXPECT_EQ(client.server.take_check(), nullptr);  // the text comes first
  client.publish();
  EXPECT_GT(client.received.size(), before);
  client.end_check(first);
  EXPECT_TRUE(found().empty());
  const auto second = client.begin_check();
  ASSERT_NE(second, nullptr);
  client.end_check(second);
  EXPECT_EQ(found().size(), 1U);
  EXPECT_EQ(client.begin_check(), nullptr);
}

TEST_F(WhileChecking, QuestionsAboutPredictionsWaitAndAreOfTheNewestText) {
  const auto first = client.begin_check();
  const int asked = client.request("textDocument/hover", hover());
  EXPECT_TRUE(client.answer_to(asked).is_null());
  const int symbols = client.request("textDocument/documentSymbol", hover());
  EXPECT_FALSE(client.answer_to(symbols).is_null());  // needs no checks
  insert_line();
  client.publish();
  client.end_check(first);
  EXPECT_TRUE(client.answer_to(asked).is_null());
  const auto second = client.begin_check();
  client.end_check(second);
  // One line lower the place of the question is another one now.
  EXPECT_TRUE(client.answer_to(asked).contains("result"));
  // What will never be checked is answered at once.
  const int again = client.request("textDocument/hover", hover());
  EXPECT_FALSE(client.answer_to(again).is_null());
  client.change(path, {{"text", "load"}});
  EXPECT_FALSE(client.answer_to(client.request("textDocument/hover", hover())).is_null());
}

TEST_F(WhileChecking, QuestionsThatWaitAreAnsweredWhenTheTextBreaks) {
  const int asked = client.request("textDocument/hover", hover());
  EXPECT_TRUE(client.answer_to(asked).is_null());
  client.change(path, {{"text", "load"}});
  client.publish();
  EXPECT_TRUE(client.answer_to(asked).contains("result"));
}

TEST_F(WhileChecking, QuestionsCanBeTakenBack) {
  const int asked = client.request("textDocument/hover", hover());
  client.tell("$/cancelRequest", {{"id", asked}});
  EXPECT_EQ(client.answer_to(asked)["error"]["code"], -32800);
  client.tell("$/cancelRequest", {{"id", asked}});
  client.tell("$/cancelRequest", {{"id", {{"no", "id"}}}});
  const int open_one = client.request("textDocument/inlayHint", hover());
  EXPECT_TRUE(client.answer_to(open_one).is_null());
  client.request("shutdown", nullptr);
  EXPECT_EQ(client.answer_to(open_one)["error"]["code"], -32800);
  client.settle();
}

TEST_F(WhileChecking, NoMoreThanAFewWait) {
  std::vector<int> ids;
  for (int i = 0; i < 200; ++i) ids.push_back(client.request("textDocument/hover", hover()));
  EXPECT_EQ(client.answer_to(ids.front())["error"]["code"], -32801);
  EXPECT_TRUE(client.answer_to(ids.back()).is_null());
  client.settle();
  for (const int id : ids) EXPECT_FALSE(client.answer_to(id).is_null());
  EXPECT_TRUE(client.answer_to(ids.back()).contains("result"));
}

TEST_F(WhileChecking, ALoadIsCheckedAgainOnlyWhenSomethingOfItsOwnChanges) {
  open(other);
  client.settle();
  EXPECT_EQ(client.host.checks, 2U);
  insert_line();
  client.settle();
  EXPECT_EQ(client.host.checks, 3U);
  client.change(other, {{"range", Client::range(0, 0, 0, 0)}, {"text", "# one more\n"}});
  client.settle();
  EXPECT_EQ(client.host.checks, 4U);
  // Both posts share this file.
  client.tell(
      "workspace/didChangeWatchedFiles",
      {{"changes", Json::array({{{"uri", Client::uri("stations/shared/moon-site.yaml")}, {"type", 2}}})}});
  client.settle();
  EXPECT_EQ(client.host.checks, 6U);
  client.tell("workspace/didChangeWatchedFiles",
              {{"changes", Json::array({{{"uri", Client::uri("stations/damson.yaml")}, {"type", 2}}})}});
  client.settle();
  EXPECT_EQ(client.host.checks, 6U);
  // A file that was looked for in vain, and appears.
  client.change(path, {{"range", Client::range(0, 0, 0, 0)}, {"text", "use \"more.cairn\"\n"}});
  client.settle();
  EXPECT_EQ(client.host.checks, 6U);
  client.host.files["/project/loads/more.cairn"] = "let more = 1 s\n";
  client.tell("workspace/didChangeWatchedFiles",
              {{"changes", Json::array({{{"uri", Client::uri("loads/more.cairn")}, {"type", 1}}})}});
  client.settle();
  EXPECT_EQ(client.host.checks, 7U);
}

TEST(Documents, AreFollowedUpToALength) {
  Client client(1000);
  client.start();
  client.open("loads/a.cairn", "load");
  client.settle();
  for (int i = 0; i < 3; ++i) {
    client.change("loads/a.cairn", {{"range", Client::range(0, 0, 0, 0)}, {"text", std::string(400, ' ')}});
  }
  client.settle();
  EXPECT_EQ(client.received.back()["method"], "textDocument/publishDiagnostics");
  EXPECT_TRUE(client.diagnostics[Client::uri("loads/a.cairn")].empty());
  const bool told = std::any_of(client.received.begin(), client.received.end(), [](const Json& one) {
    return one.value("method", "") == "window/showMessage";
  });
  EXPECT_TRUE(told);
  client.open("loads/a.cairn", "load");
  client.settle();
  EXPECT_EQ(client.diagnostics[Client::uri("loads/a.cairn")].size(), 1U);
}

}  // namespace
}  // namespace cairn::test
