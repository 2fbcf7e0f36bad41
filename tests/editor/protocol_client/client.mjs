// The client library of the protocol's authors with `cairn serve`: its types are checked on their way in, every
// request of the server's list is sent once, and what comes back has the protocol's form.
// usage: node client.mjs CAIRN PROJECT
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import * as protocol from "vscode-languageserver-protocol/node.js";

const { createProtocolConnection, StreamMessageReader, StreamMessageWriter } = protocol;
const [cairn, project] = process.argv.slice(2);
const server = spawn(cairn, ["serve"], { stdio: ["pipe", "pipe", "inherit"] });
const connection = createProtocolConnection(new StreamMessageReader(server.stdout), new StreamMessageWriter(server.stdin));
const ended = new Promise((resolve) => server.on("exit", resolve));

const published = new Map();
let arrived = () => {};
connection.onNotification(protocol.PublishDiagnosticsNotification.type, (params) => {
  published.set(params.uri, params.diagnostics);
  arrived();
});
connection.onError(([error]) => { throw error; });
connection.listen();

async function diagnostics(uri, good) {
  const limit = Date.now() + 30000;
  while (!(published.has(uri) && good(published.get(uri)))) {
    assert.ok(Date.now() < limit, `waited in vain: ${JSON.stringify(published.get(uri))}`);
    await Promise.race([new Promise((resolve) => { arrived = resolve; }), new Promise((resolve) => setTimeout(resolve, 100))]);
  }
  return published.get(uri);
}
const errors = (list) => list.filter((one) => one.severity === protocol.DiagnosticSeverity.Error);

const path = `${project}/loads/alder-41-evening.cairn`;
const uri = pathToFileURL(path).href;
const textDocument = { uri };
let text = readFileSync(path, "utf8");
let version = 1;
function at(word, into = 0) {
  const offset = text.indexOf(word) + into;
  assert.ok(text.includes(word), word);
  const before = text.slice(0, offset).split("\n");
  return { line: before.length - 1, character: before.at(-1).length };
}
function replace(before, after) {
  const range = { start: at(before), end: at(before, before.length) };
  text = text.replace(before, after);
  version += 1;
  return connection.sendNotification(protocol.DidChangeTextDocumentNotification.type,
    { textDocument: { uri, version }, contentChanges: [{ range, text: after }] });
}
const ask = (request, more) => connection.sendRequest(request.type, { textDocument, ...more });

const started = await connection.sendRequest(protocol.InitializeRequest.type, {
  processId: process.pid, rootUri: pathToFileURL(project).href,
  capabilities: { general: { positionEncodings: ["utf-16"] }, textDocument: { completion: { completionItem: { snippetSupport: true } } } },
});
assert.equal(started.capabilities.positionEncoding, "utf-16");
assert.equal(started.serverInfo.name, "cairn");
await connection.sendNotification(protocol.InitializedNotification.type, {});
await connection.sendNotification(protocol.DidOpenTextDocumentNotification.type,
  { textDocument: { uri, languageId: "cairn", version, text } });
assert.deepEqual(errors(await diagnostics(uri, () => true)), []);

await replace("imaging", "imagnig");
const [mistake] = errors(await diagnostics(uri, (list) => errors(list).length === 1));
assert.ok(protocol.Diagnostic.is(mistake));
assert.deepEqual(mistake.range.start, at("imagnig"));
const actions = await ask(protocol.CodeActionRequest, { range: mistake.range, context: { diagnostics: [mistake] } });
assert.ok(actions.length === 1 && protocol.CodeAction.is(actions[0]) && protocol.WorkspaceEdit.is(actions[0].edit));
assert.equal(actions[0].edit.changes[uri][0].newText, "imaging");
await replace("imagnig", "imaging");
await diagnostics(uri, (list) => errors(list).length === 0);

const hover = await ask(protocol.HoverRequest, { position: at("camera.expose", 9) });
assert.ok(protocol.Hover.is(hover) && hover.contents.value.includes("number 85") && hover.contents.value.includes("reserve"));
const items = await ask(protocol.CompletionRequest, { position: at("send camera.", "send camera.".length) });
assert.ok(items.every((item) => typeof item.label === "string" && item.kind >= 1 && item.kind <= 25) && items.some((item) => item.label === "expose"));
const definition = await ask(protocol.DefinitionRequest, { position: at("camera.expose", 9) });
assert.ok(definition.every((place) => protocol.Location.is(place)) && definition[0].uri.endsWith(".yaml"));
const references = await ask(protocol.ReferencesRequest, { position: at("sunset =", 1), context: { includeDeclaration: true } });
// Outside comments and quoted text.
const uses = text.replaceAll(/#.*|"[^"\n]*"/g, "").match(/\bsunset\b/g).length;
assert.ok(uses > 5);
assert.equal(references.length, uses);
assert.equal((await ask(protocol.PrepareRenameRequest, { position: at("sunset =", 1) })).placeholder, "sunset");
const renamed = await ask(protocol.RenameRequest, { position: at("sunset =", 1), newName: "dusk" });
assert.ok(protocol.WorkspaceEdit.is(renamed));
assert.equal(renamed.changes[uri].length, uses);
await assert.rejects(ask(protocol.RenameRequest, { position: at("sunset =", 1), newName: "pass" }),
  (error) => error.code === protocol.LSPErrorCodes.RequestFailed);
const edits = await ask(protocol.DocumentFormattingRequest, { options: { tabSize: 2, insertSpaces: true } });
assert.deepEqual(edits, []);
const symbols = await ask(protocol.DocumentSymbolRequest, {});
assert.ok(symbols.length === 1 && symbols.every((symbol) => protocol.DocumentSymbol.is(symbol)));
const tokens = await ask(protocol.SemanticTokensRequest, {});
assert.ok(protocol.SemanticTokens.is(tokens) && tokens.data.length % 5 === 0 && tokens.data.length > 100);
const hints = await ask(protocol.InlayHintRequest, { range: { start: { line: 0, character: 0 }, end: { line: 200, character: 0 } } });
assert.ok(hints.length > 10 && hints.every((hint) => protocol.InlayHint.is(hint)));
await assert.rejects(connection.sendRequest("no/such", {}), (error) => error.code === protocol.ErrorCodes.MethodNotFound);

await connection.sendRequest(protocol.ShutdownRequest.type);
await connection.sendNotification(protocol.ExitNotification.type);
assert.equal(await ended, 0);
connection.dispose();
console.log("the protocol client's checks passed");
