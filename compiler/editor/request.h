// One message of the client, read into a flat value: what any method may carry, with a default for what is
// not there.
//
// The protocol is JSON-RPC 2.0 with the methods of the Language Server Protocol 3.17.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "compiler/editor/answers.h"

namespace cairn {

struct ContentChange {
  bool whole = true;  // `text` is the whole document
  TextRange range;
  std::string text;
};

enum class RequestFault : std::uint8_t { None, NoJson, NoRequest };

struct Request {
  RequestFault fault = RequestFault::None;
  std::string id;  // as JSON; empty: a notification, which gets no answer
  bool is_response = false;
  std::string method;
  bool has_params = false;

  std::string uri;
  std::string text;
  std::int64_t version = 0;
  std::vector<ContentChange> changes;
  bool has_position = false;
  TextPosition position;
  TextRange range;
  std::string new_name;
  bool include_declaration = true;
  std::vector<std::string> only;  // kinds of code actions
  std::vector<std::string> changed_uris;
  std::string cancelled;  // the id of another request, as JSON
  bool snippets = false;  // initialize: the client can insert snippets
};

Request read_request(std::string_view message);

}  // namespace cairn
