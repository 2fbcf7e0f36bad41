// The door through which JSON comes in. Nothing in it is trusted: wrong kinds are as if they were not there.

#include "compiler/editor/request.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace cairn {

namespace {

using Json = nlohmann::json;

constexpr int deepest = 64;

const Json& member(const Json& value, const char* name) {
  static const Json none;
  if (!value.is_object()) return none;
  const auto found = value.find(name);
  return found == value.end() ? none : *found;
}

std::string string_of(const Json& value) {
  return value.is_string() ? value.get<std::string>() : std::string();
}

std::uint32_t count_of(const Json& value) {
  if (!value.is_number()) return 0;
  if (!value.is_number_integer()) return 0;
  if (value.is_number_unsigned()) {
    return static_cast<std::uint32_t>(std::min<std::uint64_t>(value.get<std::uint64_t>(), 0x7FFFFFFF));
  }
  return static_cast<std::uint32_t>(std::clamp<std::int64_t>(value.get<std::int64_t>(), 0, 0x7FFFFFFF));
}

TextPosition position_of(const Json& value) {
  return {count_of(member(value, "line")), count_of(member(value, "character"))};
}

TextRange range_of(const Json& value) {
  return {position_of(member(value, "start")), position_of(member(value, "end"))};
}

void read_changes(const Json& list, Request& request) {
  if (!list.is_array()) return;
  for (const Json& one : list) {
    if (!member(one, "text").is_string()) continue;
    ContentChange change;
    change.text = string_of(member(one, "text"));
    change.whole = !member(one, "range").is_object();
    change.range = range_of(member(one, "range"));
    request.changes.push_back(std::move(change));
  }
}

std::string id_of(const Json& value) {
  const bool is_id = value.is_string() || value.is_number_integer();
  return is_id ? value.dump(-1, ' ', true, Json::error_handler_t::replace) : std::string();
}

void read_params(const Json& params, Request& request) {
  request.cancelled = id_of(member(params, "id"));
  const Json& document = member(params, "textDocument");
  request.uri = string_of(member(document, "uri"));
  request.text = string_of(member(document, "text"));
  const Json& version = member(document, "version");
  if (version.is_number_integer()) request.version = version.get<std::int64_t>();
  read_changes(member(params, "contentChanges"), request);
  request.has_position = member(params, "position").is_object();
  request.position = position_of(member(params, "position"));
  request.range = range_of(member(params, "range"));
  request.new_name = string_of(member(params, "newName"));
  const Json& context = member(params, "context");
  const Json& include = member(context, "includeDeclaration");
  if (include.is_boolean()) request.include_declaration = include.get<bool>();
  const Json& only = member(context, "only");
  if (only.is_array()) {
    for (const Json& kind : only) request.only.push_back(string_of(kind));
  }
  const Json& changed = member(params, "changes");
  if (changed.is_array()) {
    for (const Json& one : changed) request.changed_uris.push_back(string_of(member(one, "uri")));
  }
  const Json& item = member(member(member(params, "capabilities"), "textDocument"), "completion");
  const Json& snippets = member(member(item, "completionItem"), "snippetSupport");
  request.snippets = snippets.is_boolean() && snippets.get<bool>();
}

}  // namespace

Request read_request(std::string_view message) {
  Request request;
  bool too_deep = false;
  const Json::parser_callback_t watch = [&too_deep](int depth, Json::parse_event_t, Json&) {
    too_deep = too_deep || depth > deepest;
    return depth <= deepest;
  };
  const Json json = Json::parse(message.begin(), message.end(), watch, false);
  if (json.is_discarded() || too_deep) {
    request.fault = RequestFault::NoJson;
    return request;
  }
  request.id = id_of(member(json, "id"));
  request.method = string_of(member(json, "method"));
  request.is_response =
      request.method.empty() && (json.is_object() && (json.contains("result") || json.contains("error")));
  if (!json.is_object() || (request.method.empty() && !request.is_response)) {
    request.fault = RequestFault::NoRequest;
    return request;
  }
  const Json& params = member(json, "params");
  request.has_params = params.is_object();
  read_params(params, request);
  return request;
}

}  // namespace cairn
