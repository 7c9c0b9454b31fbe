// The JSON answer, parsed back.
#include <limits>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "sample.h"

namespace {

using Json = nlohmann::ordered_json;
using loomproof::json_of;

Json parsed(const loomproof::Loom& loom, const loomproof::Judgement& judgement) {
  return Json::parse(json_of({{loom.file, &loom, &judgement, nullptr}}));
}

}  // namespace

TEST_CASE("every obligation is there with all that was said of it") {
  const Json document = parsed(sample::loom(), sample::judgement());
  CHECK(document["format"] == 1);
  CHECK(document["tool"]["name"] == "loomproof");
  REQUIRE(document["files"].size() == 1);
  const Json& file = document["files"][0];
  CHECK(file["file"] == "netlists/orchard-cart.yaml");
  CHECK(file["checked"] == true);
  CHECK(file["counts"] == Json{{"holds", 3}, {"broken", 2}, {"undecided", 2}, {"waived", 1}});
  CHECK(file["coverage"] == Json{{"covered", 1240},
                                 {"possible", 1240},
                                 {"left_out", nullptr},
                                 {"in_between", nullptr},
                                 {"single_faults", 0},
                                 {"fault_situations", 0},
                                 {"fault_points", 0},
                                 {"fault_pairs", 0},
                                 {"fault_pairs_bounded", 0},
                                 {"fault_pairs_cut", 0},
                                 {"fault_left_out", nullptr}});
  REQUIRE(file["obligations"].size() == 8);
  const Json expected = Json::parse(R"({
    "rule": "wire-heat", "group": "conductors", "severity": "danger", "subject": "T4",
    "place": {"line": 3, "column": 3}, "verdict": "broken", "waived": null,
    "what": "'T4' reaches 131 degC and its insulation allows 105 degC",
    "figure": "131 degC", "limit": "105 degC", "used": 1.4,
    "situation": "full pack, key on, climb: 120 A for 45 s, bundled with T5",
    "notes": [{"place": {"line": 3, "column": 55}, "text": "limit set by this insulation"},
              {"place": null, "text": "and in 11 more situations"}],
    "fix": "25 mm2 or larger stays below 105 degC",
    "moves": [],
    "path": []})");
  CHECK(file["obligations"][0] == expected);
  CHECK(file["assumptions"].size() == 3);
  CHECK(file["waivers"].size() == 2);
  for (const Json& owed : file["obligations"]) {
    // The same keys in the same order for every verdict.
    std::vector<std::string> keys;
    for (const auto& [key, value] : owed.items()) keys.push_back(key);
    std::vector<std::string> first;
    for (const auto& [key, value] : expected.items()) first.push_back(key);
    CHECK(keys == first);
  }
}

TEST_CASE("the same answer is the same bytes") {
  const loomproof::Loom loom = sample::loom();
  const loomproof::Judgement judgement = sample::judgement();
  CHECK(json_of({{"f", &loom, &judgement, nullptr}}) == json_of({{"f", &loom, &judgement, nullptr}}));
}

TEST_CASE("a file that could not be read has its faults and no counts") {
  const std::vector<loomproof::ReadFault> faults{{{3, 4}, "key 'siez' is not known", "did you mean 'size'?"}};
  const Json file = Json::parse(json_of({{"bad.yaml", nullptr, nullptr, &faults}}))["files"][0];
  CHECK(file["checked"] == false);
  CHECK(file["vehicle"] == nullptr);
  CHECK_FALSE(file.contains("counts"));
  CHECK_FALSE(file.contains("obligations"));
  CHECK(file["faults"][0]["place"]["line"] == 3);
  CHECK(file["faults"][0]["hint"] == "did you mean 'size'?");
}

TEST_CASE("hostile names survive unchanged where they are UTF-8, and the document itself is printable ASCII") {
  const loomproof::Loom loom = sample::hostile_loom();
  const loomproof::Judgement judgement = sample::hostile_judgement();
  const std::string text = json_of({{loom.file, &loom, &judgement, nullptr}});
  for (const char c : text) CHECK(((c >= 0x20 && c < 0x7F) || c == '\n'));
  // The stray byte 9B becomes U+FFFD; all else comes back as it was.
  std::string expected = sample::hostile;
  expected.replace(expected.find("\t\x9b") + 1, 1, "\xef\xbf\xbd");
  CHECK(Json::parse(text)["files"][0]["vehicle"] == expected);
}

TEST_CASE("a share that is not finite is null, and an open verdict is undecided") {
  loomproof::Ledger ledger;
  ledger.open(sample::wire_heat, sample::wire("T4", 3))
      .broken("x", loomproof::Figure{"a", "b", std::numeric_limits<double>::infinity()});
  ledger.open(sample::wire_heat, sample::wire("T5", 4));
  const loomproof::Judgement judgement{{ledger.obligations().begin(), ledger.obligations().end()}, {}, {}, {}};
  const Json owed = parsed(sample::loom(), judgement)["files"][0]["obligations"];
  CHECK(owed[0]["used"] == nullptr);
  CHECK(owed[1]["verdict"] == "undecided");
}
