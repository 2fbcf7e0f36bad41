// The extension as its editor loads it, the editor itself replaced by what it would see: that the files it names are
// there, and that the program it starts with the words it gives answers as a language server.
// usage: node with_extension.cjs EXTENSION CAIRN
"use strict";
const assert = require("node:assert/strict");
const { spawn } = require("node:child_process");
const fs = require("node:fs");
const Module = require("node:module");
const path = require("node:path");

const [folder, cairn] = process.argv.slice(2);
const manifest = JSON.parse(fs.readFileSync(path.join(folder, "package.json"), "utf8"));
const lock = JSON.parse(fs.readFileSync(path.join(folder, "package-lock.json"), "utf8"));

const { languages, grammars, configuration } = manifest.contributes;
for (const file of [manifest.main, languages[0].configuration, grammars[0].path]) {
  assert.ok(fs.existsSync(path.join(folder, file)), file);
}
assert.equal(grammars[0].language, languages[0].id);
assert.equal(grammars[0].scopeName, JSON.parse(fs.readFileSync(path.join(folder, grammars[0].path), "utf8")).scopeName);
assert.deepEqual(languages[0].extensions, [".cairn"]);
assert.deepEqual(lock.packages[""].dependencies, manifest.dependencies);
assert.equal(lock.version, manifest.version);

const setting = Object.keys(configuration.properties)[0];
const seen = { starts: 0, stops: 0 };
class LanguageClient {
  constructor(id, name, server, client) { Object.assign(seen, { id, name, server, client }); }
  async start() { seen.starts += 1; }
  async stop() { seen.stops += 1; }
}
const vscode = {
  workspace: {
    getConfiguration: (section) => ({
      get: (key, otherwise) => {
        assert.equal(`${section}.${key}`, setting);
        assert.equal(otherwise, configuration.properties[setting].default);
        return cairn;
      },
    }),
    createFileSystemWatcher: (pattern) => ({ pattern, dispose() {} }),
  },
};
const load = Module._load;
Module._load = (name, ...rest) => {
  if (name === "vscode") return vscode;
  if (name === "vscode-languageclient/node") return { LanguageClient, TransportKind: { stdio: 0 } };
  return load(name, ...rest);
};

async function main() {
  const extension = require(path.join(folder, manifest.main));
  const context = { subscriptions: [] };
  await extension.activate(context);
  assert.equal(seen.starts, 1);
  assert.equal(seen.client.documentSelector[0].language, languages[0].id);
  assert.ok(context.subscriptions.length > 0);

  // What it starts is a language server.
  const server = spawn(seen.server.command, seen.server.args, { stdio: ["pipe", "pipe", "inherit"] });
  const send = (message) => {
    const body = JSON.stringify({ jsonrpc: "2.0", ...message });
    server.stdin.write(`Content-Length: ${Buffer.byteLength(body)}\r\n\r\n${body}`);
  };
  let answer = "";
  server.stdout.on("data", (bytes) => { answer += bytes; });
  send({ id: 1, method: "initialize", params: { processId: process.pid, rootUri: null, capabilities: {} } });
  send({ id: 2, method: "shutdown" });
  send({ method: "exit" });
  assert.equal(await new Promise((resolve) => server.on("exit", resolve)), 0);
  assert.ok(answer.includes('"serverInfo"'), answer);

  await extension.deactivate();
  assert.equal(seen.stops, 1);
  console.log("the extension's checks passed");
}
main().catch((problem) => {
  console.error(problem);
  process.exit(1);
});
