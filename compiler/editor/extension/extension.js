// Starts `cairn serve` and lets it speak for loads and for the station files of their project.
"use strict";

const vscode = require("vscode");
const { LanguageClient, TransportKind } = require("vscode-languageclient/node");

let client;

exports.activate = async function activate(context) {
  const command = vscode.workspace.getConfiguration("cairn").get("program", "cairn");
  const program = { command, args: ["serve"], transport: TransportKind.stdio };
  const files = vscode.workspace.createFileSystemWatcher("**/*.{cairn,yaml}");
  client = new LanguageClient("cairn", "Cairn", program, {
    documentSelector: [
      { scheme: "file", language: "cairn" },
      { scheme: "file", pattern: "**/stations/**/*.yaml" },
    ],
    synchronize: { fileEvents: files },
  });
  context.subscriptions.push(files, client);
  await client.start();
};

exports.deactivate = function deactivate() {
  return client ? client.stop() : undefined;
};
