// Each thing the server can be asked, on the loads of the Tarn Ridge posts: what it answers, and that the
// answer is of this text and not of an older one.

#include <algorithm>
#include <set>

#include "compiler/editor/reply.h"
#include "tests/editor/client.h"

namespace cairn::test {
namespace {

using Json = Client::Json;

const std::string path = "loads/alder-41-evening.cairn";

class Editor : public testing::Test {
 protected:
  Editor() {
    client.start();
    text = client.host.files.at("/project/" + path);
  }
  void open() {
    client.open(path, text);
    client.settle();
  }
  // Writes something else in the place of a piece of the text before it is opened.
  void put(const std::string& before, const std::string& after) {
    const std::size_t at = text.find(before);
    ASSERT_NE(at, std::string::npos) << before;
    text.replace(at, before.size(), after);
  }
  std::vector<Json> errors(const std::string& file = path) {
    std::vector<Json> found;
    for (const Json& one : client.diagnostics[Client::uri(file)]) {
      if (one["severity"] == 1) found.push_back(one);
    }
    return found;
  }
  // The labels of a completion list.
  std::set<std::string> labels(const std::string& word, std::size_t nth = 0) {
    const Json answer = client.ask_at("textDocument/completion", path, word, nth, word.size());
    std::set<std::string> found;
    for (const Json& one : answer["result"]) found.insert(one["label"]);
    return found;
  }
  std::string text_at(const Json& location) {
    const std::string file =
        location["uri"].get<std::string>().substr(std::string("file:///project/").size());
    const std::string whole =
        client.texts.contains(file) ? client.texts[file] : client.host.files["/project/" + file];
    const TextLines lines(whole);
    const auto at = [&](const Json& position) {
      return lines.offset(
          whole, {position["line"].get<std::uint32_t>(), position["character"].get<std::uint32_t>()});
    };
    const std::uint32_t begin = at(location["range"]["start"]);
    return whole.substr(begin, at(location["range"]["end"]) - begin);
  }

  Client client;
  std::string text;
};

TEST_F(Editor, GoodLoadHasNoErrors) {
  open();
  EXPECT_TRUE(errors().empty()) << errors()[0];
  ASSERT_TRUE(client.diagnostics.contains(Client::uri(path)));
  EXPECT_EQ(client.host.checks, 1U);
}

TEST_F(Editor, DiagnosticsFollowTheText) {
  open();
  const Json where = Client::position(text, "imaging", 0, 0);
  client.edit(path, where["line"], where["character"], where["character"].get<std::size_t>() + 7, "imagnig");
  client.settle();
  ASSERT_EQ(errors().size(), 1U);
  EXPECT_EQ(errors()[0]["code"], "sequence/bring-unknown-state");
  EXPECT_EQ(errors()[0]["range"]["start"], where);
  EXPECT_EQ(errors()[0]["source"], "cairn");
  client.edit(path, where["line"], where["character"], where["character"].get<std::size_t>() + 7, "imaging");
  client.settle();
  EXPECT_TRUE(errors().empty());
}

TEST_F(Editor, DiagnosticsAppearInUsedFilesAndStations) {
  open();
  client.open(
      "routines/park.cairn",
      "routine open-camera() { send camera.no-such }\nroutine park-camera(settle: Duration = 1 s) {}\n");
  client.settle();
  ASSERT_EQ(errors("routines/park.cairn").size(), 1U);
  EXPECT_EQ(errors("routines/park.cairn")[0]["code"], "meaning/unknown-command");
  // What the file on the disk says counts again when the document is closed.
  client.tell("textDocument/didClose", {{"textDocument", {{"uri", Client::uri("routines/park.cairn")}}}});
  client.settle();
  EXPECT_TRUE(errors("routines/park.cairn").empty());
  std::string station = client.host.files.at("/project/stations/alder.yaml");
  client.open("stations/alder.yaml", station + "\nno-such-key: 3\n");
  client.settle();
  EXPECT_EQ(errors("stations/alder.yaml").size(), 1U);
  client.change("stations/alder.yaml", {{"text", station}});
  client.settle();
  EXPECT_TRUE(errors("stations/alder.yaml").empty());
}

TEST_F(Editor, UnknownStationIsSaidOnceWithWhatThereIs) {
  put("for alder", "for elder");
  open();
  ASSERT_EQ(errors().size(), 1U);
  EXPECT_EQ(errors()[0]["code"], "input/no-station");
  EXPECT_NE(errors()[0]["message"].get<std::string>().find("alder, birch"), std::string::npos);
}

TEST_F(Editor, RoutineFilesAreNoLoads) {
  client.open("routines/probe.cairn", client.host.files.at("/project/routines/probe.cairn"));
  client.settle();
  EXPECT_TRUE(client.diagnostics[Client::uri("routines/probe.cairn")].empty());
}

TEST_F(Editor, HoverTellsDictionaryTimesAndPredictions) {
  open();
  const Json answer = client.ask_at("textDocument/hover", path, "camera.expose", 0, 9);
  const std::string words = answer["result"]["contents"]["value"];
  for (const char* part : {"command `camera.expose`, number 85", "exposure", "2031-05-11T",
                           "power there: load", "reserve", "temperatures there:", "camera-head", "degC"}) {
    EXPECT_NE(words.find(part), std::string::npos) << part << "\n" << words;
  }
  EXPECT_EQ(text_at({{"uri", Client::uri(path)}, {"range", answer["result"]["range"]}}), "expose");
  const std::string mark =
      client.ask_at("textDocument/hover", path, "sunset", 2)["result"]["contents"]["value"];
  EXPECT_NE(mark.find("mark `sunset`"), std::string::npos) << mark;
  EXPECT_NE(mark.find("2031-05-11T16:59:1"), std::string::npos) << mark;
  EXPECT_TRUE(client.ask_at("textDocument/hover", path, "# Evening", 0, 0)["result"].is_null());
}

TEST_F(Editor, CompletionKnowsDictionaryAndStates) {
  put("send camera.expose exposure=40 ms frames=4", "send camera.expose exposure=40 ms ");
  open();
  EXPECT_TRUE(labels("send ").contains("camera"));
  EXPECT_FALSE(labels("send ").contains("sunset"));
  const auto commands = labels("send camera.");
  EXPECT_TRUE(commands.contains("expose") && commands.contains("point")) << commands.size();
  EXPECT_FALSE(commands.contains("sample"));
  const auto arguments = labels("exposure=40 ms ");
  EXPECT_TRUE(arguments.contains("frames="));
  EXPECT_FALSE(arguments.contains("exposure="));
  EXPECT_TRUE(labels("towards=").contains("west"));
  const auto states = labels("bring camera to ");
  EXPECT_TRUE(states.contains("imaging") && states.contains("parked"));
  EXPECT_TRUE(labels("window ").contains("west-dish"));
  EXPECT_TRUE(labels("for ").contains("birch"));
  EXPECT_TRUE(labels("do ").contains("park-camera"));
  EXPECT_TRUE(labels("use \"").contains("../routines/probe.cairn"));
  EXPECT_TRUE(labels("\n  at ").contains("sunset"));
  EXPECT_TRUE(labels("let settle = 90 ").contains("min"));
  EXPECT_TRUE(labels("as last-picture {").contains("bring"));
  EXPECT_TRUE(labels("# Evening").empty());
}

TEST_F(Editor, CompletionWorksInAHalfWrittenLine) {
  put("bring camera to imaging", "send camera.");
  open();
  EXPECT_TRUE(labels("send camera.", 1).contains("expose"));
}

TEST_F(Editor, DefinitionLeadsToNamesFilesAndYaml) {
  open();
  const auto target = [this](const std::string& word, std::size_t nth = 0, std::size_t into = 1) {
    const Json answer = client.ask_at("textDocument/definition", path, word, nth, into);
    return answer["result"].empty() ? Json() : answer["result"][0];
  };
  EXPECT_EQ(text_at(target("sunset - 8 h")), "sunset");
  EXPECT_EQ(target("sunset - 8 h")["range"]["start"], Client::position(text, "sunset =", 0, 0));
  EXPECT_EQ(target("park-camera(")["uri"], Client::uri("routines/park.cairn"));
  EXPECT_EQ(text_at(target("park-camera(")), "park-camera");
  EXPECT_EQ(text_at(target("settle=settle", 0, 8)), "settle");
  EXPECT_EQ(target("settle=settle", 0, 1)["uri"], Client::uri("routines/park.cairn"));
  EXPECT_EQ(target("routines/park.cairn")["uri"], Client::uri("routines/park.cairn"));
  EXPECT_NE(target("camera.expose", 0, 8)["uri"].get<std::string>().find(".yaml"), std::string::npos);
  EXPECT_NE(target("imaging")["uri"].get<std::string>().find(".yaml"), std::string::npos);
  EXPECT_NE(target("exposure=")["uri"].get<std::string>().find(".yaml"), std::string::npos);
  EXPECT_NE(target("alder {")["uri"].get<std::string>().find("stations/alder.yaml"), std::string::npos);
  EXPECT_TRUE(target("sun.elevation").is_null());
}

TEST_F(Editor, ReferencesAreAllAndOnlyThose) {
  open();
  const Json answer = client.ask_at("textDocument/references", path, "sunset =", 0, 2);
  std::size_t count = 0;
  for (std::size_t at = text.find("sunset"); at != std::string::npos; at = text.find("sunset", at + 1)) {
    const std::size_t line = text.rfind('\n', at) + 1;
    const std::string_view before = std::string_view(text).substr(line, at - line);
    const bool in_text = std::count(before.begin(), before.end(), '"') % 2 == 1;
    if (before.find('#') == std::string::npos && !in_text) ++count;
  }
  EXPECT_EQ(answer["result"].size(), count);
  for (const Json& one : answer["result"]) EXPECT_EQ(text_at(one), "sunset");
  const Json states = client.ask_at("textDocument/references", path, "imaging", 0, 2);
  EXPECT_GE(states["result"].size(), 1U);
}

TEST_F(Editor, RenameChangesEveryUseAndNothingElse) {
  open();
  const auto rename = [this](const std::string& word, std::size_t into, const std::string& name) {
    return client.ask_at("textDocument/rename", path, word, 0, into, {{"newName", name}});
  };
  const Json prepared = client.ask_at("textDocument/prepareRename", path, "settle = 90 s", 0, 2);
  EXPECT_EQ(prepared["result"]["placeholder"], "settle");
  const Json answer = rename("settle = 90 s", 2, "pause");
  const Json edits = answer["result"]["changes"][Client::uri(path)];
  ASSERT_EQ(edits.size(), 2U) << answer;  // the definition, and the value of `settle=settle`
  // Applied from the end, the load still holds.
  for (auto edit = edits.rbegin(); edit != edits.rend(); ++edit)
    client.change(path, {{"range", (*edit)["range"]}, {"text", "pause"}});
  client.settle();
  EXPECT_TRUE(errors().empty());
  const Json routine =
      client.ask_at("textDocument/rename", path, "park-camera(", 0, 2, {{"newName", "stow-camera"}});
  EXPECT_TRUE(routine["result"]["changes"].contains(Client::uri("routines/park.cairn"))) << routine;
}

TEST_F(Editor, RenameRefusesWhatWouldBreak) {
  open();
  const auto refused = [this](const std::string& word, const std::string& name) {
    const Json answer = client.ask_at("textDocument/rename", path, word, 0, 1, {{"newName", name}});
    return answer.contains("error") && answer["error"]["code"] == -32803;
  };
  EXPECT_TRUE(refused("sunset =", "at"));
  EXPECT_TRUE(refused("sunset =", "s"));
  EXPECT_TRUE(refused("sunset =", "two words"));
  EXPECT_TRUE(refused("sunset =", ""));
  EXPECT_TRUE(refused("sunset =", "pass"));  // another mark
  EXPECT_TRUE(refused("camera.expose", "eye"));
  EXPECT_TRUE(refused("note", "other"));
  EXPECT_FALSE(refused("sunset =", "dusk"));
}

TEST_F(Editor, FormattingIsTheFormattersWay) {
  put("  let settle = 90 s\n", "let    settle=90 s\n");
  open();
  const Json edits =
      client.ask("textDocument/formatting", {{"textDocument", {{"uri", Client::uri(path)}}}})["result"];
  ASSERT_EQ(edits.size(), 1U);
  EXPECT_EQ(edits[0]["newText"], "  let settle = 90 s\n");
  EXPECT_EQ(text_at({{"uri", Client::uri(path)}, {"range", edits[0]["range"]}}), "let    settle=90 s\n");
  client.change(path, {{"range", edits[0]["range"]}, {"text", edits[0]["newText"]}});
  EXPECT_TRUE(
      client.ask("textDocument/formatting", {{"textDocument", {{"uri", Client::uri(path)}}}})["result"]
          .empty());
  client.change(path, {{"text", "load {"}});
  EXPECT_TRUE(
      client.ask("textDocument/formatting", {{"textDocument", {{"uri", Client::uri(path)}}}})["result"]
          .is_null());
}

TEST_F(Editor, SymbolsNestAsTheBlocksDo) {
  open();
  const Json symbols =
      client.ask("textDocument/documentSymbol", {{"textDocument", {{"uri", Client::uri(path)}}}})["result"];
  ASSERT_EQ(symbols.size(), 1U);
  EXPECT_EQ(symbols[0]["name"], "alder-41-evening");
  std::vector<std::string> names;
  for (const Json& child : symbols[0]["children"]) names.push_back(child["name"]);
  EXPECT_EQ(names,
            (std::vector<std::string>{"settle", "sunset", "pass", "last-picture", "at sunset - 1 h",
                                      "from sunset + 1 h to sunset + 25 h every 6 h", "at pass + 10 min"}));
}

TEST_F(Editor, SemanticTokensCoverEveryWord) {
  open();
  const std::vector<std::uint32_t> data = client.ask(
      "textDocument/semanticTokens/full", {{"textDocument", {{"uri", Client::uri(path)}}}})["result"]["data"];
  ASSERT_EQ(data.size() % 5, 0U);
  const std::vector<std::string> words = semantic_token_words();
  const TextLines lines(text);
  std::map<std::string, std::set<std::string>> found;  // by spelling
  std::uint32_t line = 0;
  std::uint32_t character = 0;
  for (std::size_t i = 0; i < data.size(); i += 5) {
    character = data[i] == 0 ? character + data[i + 1] : data[i + 1];
    line += data[i];
    const auto begin = lines.offset(text, {line, character});
    ASSERT_LT(data[i + 3], words.size());
    found[text.substr(begin, lines.offset(text, {line, character + data[i + 2]}) - begin)].insert(
        words[data[i + 3]]);
  }
  const auto only = [&found](const std::string& spelling, const std::string& word) {
    EXPECT_EQ(found[spelling], std::set<std::string>{word}) << spelling;
  };
  only("load", "keyword");
  only("bring", "keyword");
  only("sunset", "event");
  only("expose", "method");
  only("camera", "namespace");
  only("imaging", "enumMember");
  only("west", "enumMember");
  only("exposure", "property");
  only("ms", "type");
  only("40", "number");
  only("\"alder-41-evening\"", "string");
  only("park-camera", "function");
}

TEST_F(Editor, InlayHintsShowTimesAndMargins) {
  open();
  const Json hints = client.ask("textDocument/inlayHint", {{"textDocument", {{"uri", Client::uri(path)}}},
                                                           {"range", Client::range(0, 0, 999, 0)}})["result"];
  std::map<std::uint32_t, std::string> by_line;
  for (const Json& hint : hints) by_line[hint["position"]["line"]] = hint["label"];
  const auto label = [&](const std::string& word, std::size_t nth = 0) {
    return by_line[Client::position(text, word, nth, 0)["line"].get<std::uint32_t>()];
  };
  EXPECT_EQ(label("mark sunset").substr(0, 18), "2031-05-11T16:59:1");
  EXPECT_EQ(label("send camera.expose").substr(0, 11), "2031-05-11T");
  EXPECT_NE(label("send probe.sample").find(" and 4 more"), std::string::npos);
  EXPECT_NE(label("load \"").find("power +"), std::string::npos) << label("load \"");
  EXPECT_NE(label("load \"").find("heat +"), std::string::npos);
  const Json few = client.ask("textDocument/inlayHint", {{"textDocument", {{"uri", Client::uri(path)}}},
                                                         {"range", Client::range(0, 0, 3, 0)}})["result"];
  EXPECT_LT(few.size(), hints.size());
}

TEST_F(Editor, CodeActionsApplyCorrections) {
  put("bring camera to imaging", "bring camera to imagnig");
  open();
  ASSERT_EQ(errors().size(), 1U);
  const Json params{{"textDocument", {{"uri", Client::uri(path)}}},
                    {"range", errors()[0]["range"]},
                    {"context", {{"diagnostics", Json::array()}}}};
  const Json actions = client.ask("textDocument/codeAction", params)["result"];
  ASSERT_EQ(actions.size(), 1U);
  EXPECT_EQ(actions[0]["kind"], "quickfix");
  const Json edit = actions[0]["edit"]["changes"][Client::uri(path)][0];
  EXPECT_EQ(edit["newText"], "imaging");
  client.change(path, {{"range", edit["range"]}, {"text", edit["newText"]}});
  client.settle();
  EXPECT_TRUE(errors().empty());
  EXPECT_TRUE(client.ask("textDocument/codeAction", params)["result"].empty());
}

TEST_F(Editor, AnswersAreOfTheNewestText) {
  open();
  const Json before = client.ask_at("textDocument/hover", path, "mark sunset", 0, 6)["result"];
  client.change(path, {{"range", Client::range(0, 0, 0, 0)}, {"text", "# one line more\n"}});
  const Json after =
      client.ask("textDocument/hover", {{"textDocument", {{"uri", Client::uri(path)}}},
                                        {"position",
                                         {{"line", before["range"]["start"]["line"].get<int>() + 1},
                                          {"character", before["range"]["start"]["character"]}}}})["result"];
  EXPECT_EQ(after["contents"], before["contents"]);
  EXPECT_EQ(after["range"]["start"]["line"], before["range"]["start"]["line"].get<int>() + 1);
}

}  // namespace
}  // namespace cairn::test
