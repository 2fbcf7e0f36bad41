// One mistake, one message: the code, the place under it, the mend, and the second place where two matter.

#include <gtest/gtest.h>

#include "tests/model/sample.h"

namespace cairn {
namespace {

struct Case {
  std::string text;  // on top of the base station
  std::string code;
  std::string under;   // the text at the primary place
  std::string fix;     // "" where none is offered
  std::string second;  // the text at the second place, "" where there is none
};

// A unit `probe` with the given rest of its map.
std::string unit(const std::string& rest) { return "units: {probe: {" + rest + "}}\n"; }
std::string command(const std::string& rest) { return unit("commands: {go: {number: 50, " + rest + "}}"); }
std::string argument(const std::string& rest) { return command("arguments: {size: {" + rest + "}}"); }
std::string node(const std::string& rest) {
  return "thermal: {nodes: {box: {capacity: \"1 J/K\", initial: \"20 degC\", " + rest + "}}}\n";
}
std::string heater(const std::string& rest) {
  return "thermal: {heaters: {warm: {node: electronics, power: \"1 W\", " + rest + "}}}\n";
}
std::string storage(const std::string& rest) {
  return "power: {storage: {charge: {limit: \"1 W\"}, discharge: {limit: \"1 W\"}, " + rest + "}}\n";
}
std::string sky_row(const std::string& time) {
  return "time: \"" + time +
         "\", sun_elevation: \"1 deg\", sun_azimuth: \"2 deg\", sun_distance: \"1.5e8 km\", earth_elevation: "
         "\"3 deg\", "
         "earth_azimuth: \"4 deg\", light_time: \"1.3 s\"";
}
std::string links(const std::string& rest) { return "thermal: {links: [{" + rest + "}]}\n"; }

const Case cases[] = {
    // keys
    {"tabel: {entries: 3}\n", "model/unknown-key", "tabel", "table", ""},
    {"link: {raet: \"1 kbit/s\"}\n", "model/unknown-key", "raet", "rate", ""},
    {unit("stats: {off: {}}"), "model/unknown-key", "stats", "states", ""},
    {argument("type: flag, range: \"1 .. 2\""), "model/unknown-key", "range", "", ""},
    {links("between: [electronics, space], radiative: \"1 m2\", conductance: \"1 W/K\""), "model/unknown-key",
     "\"1 m2\"", "", "\"1 W/K\""},
    {node("limits: [{kind: survival, range: \"0 degC .. 9 degC\", while: \"camera is off\"}]"),
     "model/unknown-key", "\"camera is off\"", "", ""},
    {"clock: {time_code: {form: day-segmented, fine_octets: 2}}\n", "model/unknown-key", "2", "", ""},
    {"title: one\ntitle: two\n", "model/duplicate-key", "title", "", "title"},
    {unit("commands: {go: {duration: \"1 s\"}}"), "model/missing-key", "go", "", ""},
    {unit("parts: {lid: {}}"), "model/missing-key", "lid", "", ""},
    {links("between: [electronics, space]"), "model/missing-key", "{", "", ""},
    {unit("parts: {lid: {up: {}}}, commands: {go: {number: 50, moves: [{to: up}]}}"), "model/missing-key",
     "{", "", ""},
    {argument("width: 8"), "model/missing-key", "size", "", ""},
    // kinds
    {"title: [a]\n", "model/wrong-kind", "title", "", ""},
    {"address: \"11\"\n", "model/wrong-kind", "\"11\"", "", ""},
    {"address: 1.5\n", "model/wrong-kind", "1.5", "", ""},
    {"units: 3\n", "model/wrong-kind", "3", "", ""},
    {unit("states: {off:}"), "model/wrong-kind", "off", "", ""},
    {command("once: yes"), "model/wrong-kind", "yes", "", ""},
    {command("needs: \"camera is off\""), "model/wrong-kind", "\"camera is off\"", "", ""},
    {"windows: {}\n", "model/wrong-kind", "windows", "", ""},
    {"site: {latitude: [1]}\n", "model/wrong-kind", "latitude", "", ""},
    // quantities
    {"link: {rate: \"1\"}\n", "model/bad-quantity", "1", "", ""},
    {"link: {rate: \"1 kbits\"}\n", "model/bad-quantity", "kbits", "kbit", ""},
    {"link: {rate: \"1 kbit/s ± 5 %\"}\n", "model/bad-quantity", "1 kbit/s ± 5 %", "", ""},
    {"link: {gap: \"0.1 ns\"}\n", "model/bad-quantity", "0.1 ns", "", ""},
    {"table: {horizon: \"1000 a\"}\n", "model/bad-quantity", "1000 a", "", ""},
    {node("limits: [{kind: survival, range: \"9 degC\"}]"), "model/bad-quantity", "9 degC", "", ""},
    {argument("type: count, range: \"5 .. 1\""), "model/bad-quantity", "5 .. 1", "", ""},
    {argument("type: count, range: \"1 to 5\""), "model/bad-quantity", "1 to 5", "", ""},
    {"link: {rate: \"1 W\"}\n", "model/wrong-dimension", "1 W", "", ""},
    {"power: {converter: {efficiency: \"90 % ± 1 W\"}}\n", "model/wrong-dimension", "1 W", "", ""},
    {node("limits: [{kind: survival, range: \"1 degC .. 9 degC\", alert: \"5 degC\"}]"),
     "model/wrong-dimension", "5 degC", "", ""},
    // ranges
    {"address: 70000\n", "model/out-of-range", "70000", "", ""},
    {"address: 99999999999999999999\n", "model/out-of-range", "99999999999999999999", "", ""},
    {"link: {application_id: 2047}\n", "model/out-of-range", "2047", "", ""},
    {"table: {entries: 0}\n", "model/out-of-range", "0", "", ""},
    // profiles of the link
    {"link: {frames: {spacecraft_id: 1024}}\n", "model/out-of-range", "1024", "", ""},
    {"link: {frames: {spacecraft_id: 1, typ: bypass}}\n", "model/unknown-key", "typ", "type", ""},
    {"link: {frames: {spacecraft_id: 1, type: bypas}}\n", "model/unknown-name", "bypas", "bypass", ""},
    {"link: {frames: {channel: 1}}\n", "model/missing-key", "frames", "", ""},
    {"link: {frames: {spacecraft_id: 1, longest: 30, segments: false}}\n", "model/out-of-range", "frames", "",
     ""},
    {"link: {link_units: {}}\n", "model/missing-key", "link_units", "", ""},
    {"link: {words: {address_width: 4, body_width: 5, check: parity}}\n", "model/unknown-key", "words", "",
     ""},
    {"link: {profile: wird}\n", "model/unknown-name", "wird", "word", ""},
    {"link: {profile: word, words: {address_width: 5, body_width: 8, check: parity}}\n", "model/out-of-range",
     "words", "", ""},
    {"link: {profile: word, words: {address_width: 3, body_width: 7, check: parity}}\n", "model/out-of-range",
     "words", "", ""},
    {"link: {profile: word, words: {address_width: 6, body_width: 4, check: complement}}\n",
     "model/out-of-range", "words", "", ""},
    // calibrations
    {argument("type: quantity, unit: V, calibration: {points: [{raw: 3, value: \"1 V\"}, {raw: 2, value: \"2 "
              "V\"}]}"),
     "model/out-of-range", "2", "", ""},
    {argument("type: quantity, unit: V, calibration: {points: [{raw: 3, value: \"1 V\"}]}"),
     "model/out-of-range", "points", "", ""},
    {argument("type: quantity, unit: V, calibration: {coefficients: [0, 10, -1]}"), "model/out-of-range",
     "calibration", "", ""},
    {argument("type: quantity, unit: V, calibration: {coefficients: [5]}"), "model/out-of-range",
     "coefficients", "", ""},
    {argument("type: quantity, unit: V, width: 17, calibration: {coefficients: [5, 1]}"),
     "model/out-of-range", "calibration", "", ""},
    {argument("type: quantity, unit: V, step: \"1 V\", calibration: {coefficients: [5, 1]}"),
     "model/unknown-key", "\"1 V\"", "", ""},
    {argument("type: quantity, unit: V, calibration: {}"), "model/missing-key", "calibration", "", ""},
    {argument("type: quantity, unit: V, resolution: \"1 W\""), "model/wrong-dimension", "1 W", "", ""},
    {"site: {latitude: \"91 deg\"}\n", "model/out-of-range", "91 deg", "", ""},
    {"link: {gap: \"-1 s\"}\n", "model/out-of-range", "-1 s", "", ""},
    {unit("states: {off: {load: \"1 W ± 2 W\"}}"), "model/out-of-range", "1 W ± 2 W", "", ""},
    {"power: {converter: {efficiency: \"100 % ± 1 %\"}}\n", "model/out-of-range", "100 % ± 1 %", "", ""},
    {"power: {converter: {efficiency: [{load: \"5 W\", value: \"80 %\"}]}}\n", "model/out-of-range",
     "efficiency", "", ""},
    {"power: {converter: {efficiency: [{load: \"5 W\", value: \"80 %\"}, {load: \"5 W\", value: \"90 "
     "%\"}]}}\n",
     "model/out-of-range", "\"5 W\"", "", ""},
    {"power: {converter: {efficiency: [{load: \"5 W\", value: \"20 %\"}, {load: \"6 W\", value: \"90 "
     "%\"}]}}\n",
     "model/out-of-range", "\"90 %\"", "", ""},
    {"power: {converter: {efficiency: [{load: \"5 W\"}, {load: \"6 W\", value: \"90 %\"}]}}\n",
     "model/missing-key", "{", "", ""},
    {"site: {horizon: [{azimuth: \"5 deg\", elevation: \"1 deg\"}, {azimuth: \"5 deg\", elevation: \"2 "
     "deg\"}]}\n",
     "model/out-of-range", "\"5 deg\"", "", "\"5 deg\""},
    {argument("type: count, range: \"0 .. 256\""), "model/out-of-range", "0 .. 256", "", ""},
    {argument("type: count, range: \"-1 .. 3\""), "model/out-of-range", "-1 .. 3", "", ""},
    {argument("type: count, range: \"1 .. 3\", default: 4"), "model/out-of-range", "4", "", ""},
    {argument("type: quantity, unit: deg, allowed: [\"90 deg\"], default: \"91 deg\""), "model/out-of-range",
     "91 deg", "", ""},
    {heater("on_below: \"5 degC ± 3 K\", off_above: \"6 degC\""), "model/out-of-range", "5 degC ± 3 K", "",
     "\"6 degC\""},
    {node("limits: [{kind: survival, range: \"1 degC .. 9 degC\", alert: \"5 K\"}]"), "model/out-of-range",
     "\"5 K\"", "", ""},
    {"exclusions: {alone: {kind: needs, of: [\"camera is off\"]}}\n", "model/out-of-range", "of", "", ""},
    {"thermal: {sinks: {soil: {kind: ground, night: \"100 K\", albedo: 1.5, emissivity: 0.9}}}\n",
     "model/out-of-range", "1.5", "", ""},
    {"thermal: {sinks: {soil: {kind: ground, night: \"100 K\", albedo: \"5 % ± 6 %\", emissivity: 0.9}}}\n",
     "model/out-of-range", "5 % ± 6 %", "", ""},
    {"thermal: {sinks: {soil: {kind: ground, night: \"100 K\", albedo: \"5 W\", emissivity: 0.9}}}\n",
     "model/wrong-dimension", "5 W", "", ""},
    // names
    {"power: {shed_order: [camrea]}\n", "model/unknown-name", "camrea", "camera", ""},
    {unit("states: {initial: of, off: {}}"), "model/unknown-name", "of", "off", ""},
    {unit("states: {off: {heat: {electronic: \"1 %\"}}}"), "model/unknown-name", "electronic", "electronics",
     ""},
    {links("between: [electronics, spaec], radiative: \"1 m2\""), "model/unknown-name", "spaec", "space", ""},
    {links("between: [space, space], radiative: \"1 m2\""), "model/unknown-name", "space", "", "space"},
    {command("needs: [\"camera.cove is open\"]"), "model/unknown-name", "camera.cove", "camera.cover", ""},
    {command("needs: [\"camera.cover is opne\"]"), "model/unknown-name", "opne", "open", ""},
    {command("class: routin"), "model/unknown-name", "routin", "routine", ""},
    {argument("type: choice, choices: {near: 0}, default: nera"), "model/unknown-name", "nera", "near", ""},
    {argument("type: quantity, unit: meter"), "model/unknown-name", "meter", "", ""},
    {unit("parts: {lid: {up: {}}}, commands: {go: {number: 50, moves: [{part: lit, to: up}]}}"),
     "model/unknown-name", "lit", "lid", ""},
    {unit("parts: {lid: {up: {}}}, commands: {go: {number: 50, arguments: {way: {type: flag}}, moves: "
          "[{part: lid, to: up, when: {wya: true}}]}}"),
     "model/unknown-name", "wya", "way", ""},
    {"power: {sources: {cell: {kind: isotop, power: \"1 W\", at: \"2030-01-01T00:00:00Z\", half_life: \"1 "
     "a\"}}}\n",
     "model/unknown-name", "isotop", "isotope", ""},
    {"power: {sources: {panel: {kind: solar, area: \"1 m2\", efficiency: \"30 %\", node: electronics}}}\n",
     "model/unknown-key", "electronics", "", ""},
    {"power: {sources: {panel: {kind: solar, area: \"1 m2\", efficiency: [{temperature: \"0 degC\", value: "
     "\"30 %\"}, "
     "{temperature: \"9 degC\", value: \"3 %\"}]}}}\n",
     "model/missing-key", "panel", "", ""},
    {"power: {sources: {panel: {kind: solar, area: \"1 m2\", efficiency: \"30 %\", ageing: \"1 %\"}}}\n",
     "model/missing-key", "panel", "", ""},
    {"power: {sources: {panel: {kind: solar, area: \"1 m2\", efficiency: [{temperature: \"9 degC\", value: "
     "\"30 %\"}, "
     "{temperature: \"0 degC\", value: \"3 %\"}], node: electronics}}}\n",
     "model/out-of-range", "\"0 degC\"", "", ""},
    {"power: {sources: {panel: {kind: solar, power: \"1 W\", area: \"1 m2\", efficiency: \"30 %\"}}}\n",
     "model/unknown-key", "power", "", ""},
    {"power: {sources: {panel: {area: \"1 m2\"}}}\n", "model/missing-key", "panel", "", ""},
    {storage("capacity: \"5 Wh\", initial: \"6 Wh\""), "model/out-of-range", "\"6 Wh\"", "", "\"5 Wh\""},
    {storage("capacity: \"5 Wh ± 10 %\", initial: \"1 Wh\", floor: \"4.6 Wh\""), "model/out-of-range",
     "\"4.6 Wh\"", "", "\"5 Wh ± 10 %\""},
    {storage("initial: \"6 Wh\""), "model/missing-key", "storage", "", ""},
    {storage("capacity: \"5 Wh\", initial: \"1 Wh\", self_discharge: \"100 %\""), "model/out-of-range",
     "100 %", "", ""},
    {storage("capacity: \"5 W\", initial: \"1 Wh\""), "model/wrong-dimension", "5 W", "", ""},
    {"power: {storage: {capacity: \"5 Wh\", initial: \"1 Wh\", charge: {limit: \"1 W\"}, discharge: {}}}\n",
     "model/missing-key", "discharge", "", ""},
    // the sky's table
    {"sky: [{" + sky_row("2031-05-01T00:00:00Z") + "}]\n", "model/out-of-range", "sky", "", ""},
    {"sky: [{" + sky_row("2031-05-01T00:00:00Z") + "}, {" + sky_row("2031-05-01T00:00:00Z") + "}]\n",
     "model/out-of-range", "\"2031-05-01T00:00:00Z\"", "", ""},
    {"sky: [{" + sky_row("2031-05-01T00:00:00Z") + ", flux: 3}, {" + sky_row("2031-05-02T00:00:00Z") + "}]\n",
     "model/unknown-key", "flux", "", ""},
    {"site: {body: venus}\n", "model/unknown-name", "venus", "", ""},
    // conditions
    {command("needs: [\"\"]"), "model/bad-condition", "\"\"", "", ""},
    {command("needs: [camera off]"), "model/bad-condition", "off", "", ""},
    {command("needs: [camera is]"), "model/bad-condition", "is", "", ""},
    {command("needs: [camera is not]"), "model/bad-condition", "not", "", ""},
    {command("needs: [camera is off or]"), "model/bad-condition", "or", "", ""},
    {command("needs: [camera is off and standby]"), "model/bad-condition", "and", "", ""},
    {command("needs: [camera is not off or standby]"), "model/bad-condition", "not off or standby", "", ""},
    // two of one
    {unit("commands: {go: {number: 21}}"), "model/duplicate-number", "21", "", "21"},
    {argument("type: choice, choices: {near: 0, far: 0}"), "model/duplicate-number", "0", "", "0"},
    {"thermal: {sinks: {electronics: {kind: fixed, temperature: \"9 K\"}}}\n", "model/duplicate-name",
     "electronics", "", "electronics"},
    {"power: {shed_order: [camera, camera]}\n", "model/duplicate-name", "camera", "", "camera"},
    {links("between: [electronics, electronics], radiative: \"1 m2\""), "model/duplicate-name", "electronics",
     "", "electronics"},
    // the rest
    {unit("states: {off: {heat: {electronics: \"101 %\"}}}"), "model/heat-shares", "heat", "", ""},
    {"name: 3rd\n", "model/reserved-name", "3rd", "", ""},
    {"units: {kW: {}}\n", "model/reserved-name", "kW", "", ""},
    {"units: {a b: {}}\n", "model/reserved-name", "a b", "", ""},
    {unit("states: {s: {}, off: {}}"), "model/reserved-name", "s", "", ""},
    {"clock: {last_correlation: \"2031-05-01\"}\n", "model/bad-instant", "2031-05-01", "", ""},
    {"clock: {last_correlation: \"2031-05-01T24:00:00Z\"}\n", "model/bad-instant", "2031-05-01T24:00:00Z", "",
     ""},
    {"windows: [{antenna: west, opens: \"2031-05-14T05:00:00Z\", closes: \"2031-05-14T04:00:00Z\"}]\n",
     "model/windows", "\"2031-05-14T04:00:00Z\"", "", "\"2031-05-14T05:00:00Z\""},
    {"windows: [{antenna: west-dish, opens: \"2031-05-14T05:00:00Z\", closes: \"2031-05-14T07:00:00Z\"}]\n",
     "model/windows", "\"2031-05-14T05:00:00Z\"", "", "\"2031-05-14T04:00:00Z\""},
    {"cairn-station: 2\n", "model/version", "2", "1", ""},
    {"include: [/a.yaml]\n", "model/duplicate-key", "include", "", "include"},
    // yaml itself
    {"title: !bold Alder\n", "model/yaml-syntax", "!", "", ""},
    {"title: *nobody\n", "model/yaml-syntax", "*", "", ""},
    {"title: &me [*me]\n", "model/yaml-syntax", "*", "", ""},
    {"? [a]\n: b\n", "model/yaml-syntax", "[", "", ""},
};

TEST(ModelCodes, EachMistakeHasOneMessageAtItsPlace) {
  for (const Case& one : cases) {
    samples::Result result;
    samples::load_over(result, one.text);
    EXPECT_FALSE(result.loaded) << one.text;
    ASSERT_EQ(result.diagnostics.all().size(), 1U) << one.text << result.rendered();
    const Diagnostic& found = result.diagnostics.all()[0];
    EXPECT_EQ(found.code, one.code) << one.text << result.rendered();
    EXPECT_EQ(result.files.text(found.primary), one.under) << one.text << result.rendered();
    EXPECT_EQ(found.fixes.empty() ? "" : found.fixes[0].replacement, one.fix)
        << one.text << result.rendered();
    EXPECT_EQ(found.labels.empty() ? "" : result.files.text(found.labels[0].span), one.second)
        << one.text << result.rendered();
  }
}

TEST(ModelCodes, BothDimensionsAreNamed) {
  samples::Result result;
  samples::load_over(result, "link: {rate: \"1 W\"}\n");
  ASSERT_EQ(result.diagnostics.all().size(), 1U);
  EXPECT_EQ(result.diagnostics.all()[0].message, "`rate` is of dimension Power, expected Data rate");
}

TEST(ModelCodes, KnownKeysAreListed) {
  samples::Result result;
  samples::load_over(result, "site: {lattitude: \"1 deg\"}\n");
  ASSERT_EQ(result.diagnostics.all().size(), 1U);
  ASSERT_EQ(result.diagnostics.all()[0].hints.size(), 1U);
  EXPECT_EQ(result.diagnostics.all()[0].hints[0],
            "known here: `body`, `latitude`, `longitude`, `height`, `horizon`");
}

TEST(ModelCodes, ManyErrorsComeInOneRun) {
  samples::Result result;
  samples::load_over(result,
                     "address: -1\ntabel: {}\nlink: {rate: \"1 W\"}\nsite: {latitude: \"1\"}\n"
                     "power: {shed_order: [camrea]}\nname: kW\n");
  EXPECT_FALSE(result.loaded);
  EXPECT_EQ(result.diagnostics.error_count(), 6U) << result.rendered();
}

TEST(ModelCodes, ErrorsAreBounded) {
  std::string text = "units:\n  probe:\n    commands:\n";
  for (int i = 0; i < 400; ++i) text += "      go-" + std::to_string(i) + ": {}\n";
  samples::Result result;
  samples::load_over(result, text);
  EXPECT_EQ(result.diagnostics.error_count(), 201U);
  EXPECT_TRUE(result.has("model/too-many-errors"));
}

TEST(ModelCodes, AnEmptyFileIsNoStation) {
  for (const char* text : {"", "\n\n# nothing\n", "~\n", "[]\n", "word\n"}) {
    samples::Result result;
    samples::load_text(result, text);
    EXPECT_FALSE(result.loaded);
    EXPECT_EQ(result.diagnostics.error_count(), 1U) << text << result.rendered();
    EXPECT_TRUE(result.has("model/wrong-kind")) << text;
  }
}

}  // namespace
}  // namespace cairn
