// Strict both ways: what is read must be what would have been written.

#include "compiler/review/attestation.h"

#include "compiler/plan/read_json.h"
#include "compiler/review/encoding.h"
#include "compiler/review/json_view.h"

namespace cairn {

namespace {

constexpr std::string_view statement_type = "https://in-toto.io/Statement/v1";
constexpr std::string_view predicate_type = "cairn:approval/v1";
constexpr JsonLimits limits{.bytes = std::size_t{1} << 20U, .depth = 8};

}  // namespace

std::string statement_json(const Approval& statement) {
  Json::Array subjects;
  for (const auto& [name, digest] : statement.subjects) {
    subjects.emplace_back(Json::Object{{"name", name}, {"digest", Json::Object{{"sha256", digest}}}});
  }
  return Json(Json::Object{{"_type", statement_type},
                           {"subject", std::move(subjects)},
                           {"predicateType", predicate_type},
                           {"predicate", Json::Object{{"role", statement.role},
                                                      {"person", statement.person},
                                                      {"time", statement.time},
                                                      {"policy", statement.policy_sha256},
                                                      {"load", statement.load},
                                                      {"station", statement.station},
                                                      {"verdict", statement.verdict}}}})
      .canonical();
}

std::expected<Approval, std::string> read_statement(std::string_view json) {
  const auto parsed = read_json(json, limits);
  if (!parsed) return std::unexpected(parsed.error());
  std::string error;
  const JsonView whole(*parsed, "", error);
  if (whole.at("_type").text() != statement_type) whole.fail("this is no in-toto statement");
  if (whole.at("predicateType").text() != predicate_type) whole.fail("this is no approval of a plan");
  Approval statement;
  whole.at("subject").each([&](const JsonView& subject) {
    statement.subjects[subject.at("name").text()] = subject.at("digest").at("sha256").text();
  });
  const JsonView predicate = whole.at("predicate");
  statement.role = predicate.at("role").text();
  statement.person = predicate.at("person").text();
  statement.time = predicate.at("time").text();
  statement.policy_sha256 = predicate.at("policy").text();
  statement.load = predicate.at("load").text();
  statement.station = predicate.at("station").text();
  statement.verdict = predicate.at("verdict").text();
  if (!error.empty()) return std::unexpected(error);
  if (statement_json(statement) != json)
    return std::unexpected("the statement is not written as Cairn writes it");
  return statement;
}

std::string envelope_json(const Envelope& envelope) {
  return Json(Json::Object{{"payloadType", payload_type},
                           {"payload", to_base64(envelope.payload)},
                           {"signatures", Json::Array{Json::Object{{"keyid", envelope.person},
                                                                   {"sig", to_base64(envelope.signature)}}}}})
      .canonical();
}

std::expected<Envelope, std::string> read_envelope(std::string_view json) {
  const auto parsed = read_json(json, limits);
  if (!parsed) return std::unexpected(parsed.error());
  std::string error;
  const JsonView whole(*parsed, "", error);
  if (whole.at("payloadType").text() != payload_type) whole.fail("its payload is no in-toto statement");
  Envelope envelope;
  const auto payload = from_base64(whole.at("payload").text());
  if (!payload) whole.at("payload").fail("expected base64");
  whole.at("signatures").each([&](const JsonView& row) {
    envelope.person = row.at("keyid").text();
    const auto signature = from_base64(row.at("sig").text());
    if (!signature) row.at("sig").fail("expected base64");
    envelope.signature = signature.value_or("");
  });
  if (!error.empty()) return std::unexpected(error);
  envelope.payload = *payload;
  if (envelope_json(envelope) != json)
    return std::unexpected("the envelope is not written as Cairn writes it");
  return envelope;
}

std::string signed_octets(const Envelope& envelope) {
  return pre_authentication_encoding(payload_type, envelope.payload);
}

std::string signature_file(const std::string& role, const std::string& person) {
  return "signatures/" + role + "." + person + ".json";
}

}  // namespace cairn
