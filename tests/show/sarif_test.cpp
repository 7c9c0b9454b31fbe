// SARIF: the properties that the OASIS schema (sarif-schema-2.1.0.json, OASIS Standard of 27 March 2020) requires or
// restricts, asserted by hand and from memory. The schema itself: tests/schema/validate_sarif.py.
#include <set>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "sample.h"

namespace {

using Json = nlohmann::ordered_json;
using loomproof::sarif_of;

// RFC 3986: what may stand in a URI without being escaped, and `%` with two hexadecimal digits.
bool is_uri(const std::string& text) {
  constexpr std::string_view plain = "-._~:/?#[]@!$&'()*+,;=";
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto c = static_cast<unsigned char>(text[i]);
    if (c == '%') {
      if (i + 2 >= text.size() || !std::isxdigit(static_cast<unsigned char>(text[i + 1])) ||
          !std::isxdigit(static_cast<unsigned char>(text[i + 2])))
        return false;
    } else if (!std::isalnum(c) && plain.find(static_cast<char>(c)) == std::string_view::npos) {
      return false;
    }
  }
  return true;
}

void check_location(const Json& location) {
  const Json& physical = location.at("physicalLocation");
  CHECK(is_uri(physical.at("artifactLocation").at("uri").get<std::string>()));
  if (!physical.contains("region")) return;
  CHECK(physical["region"].at("startLine").get<int>() >= 1);
  CHECK(physical["region"].at("startColumn").get<int>() >= 1);
}

void check_shape(const Json& document) {
  CHECK(document.at("version") == "2.1.0");
  CHECK(is_uri(document.at("$schema").get<std::string>()));
  REQUIRE(document.at("runs").is_array());
  const std::set<std::string> levels{"none", "note", "warning", "error"};
  for (const Json& run : document["runs"]) {
    const Json& driver = run.at("tool").at("driver");
    CHECK(driver.at("name").is_string());
    std::set<std::string> ids;
    for (const Json& rule : driver.at("rules")) {
      CHECK(ids.insert(rule.at("id").get<std::string>()).second);
      CHECK(rule.at("shortDescription").at("text").is_string());
      CHECK(levels.count(rule.at("defaultConfiguration").at("level").get<std::string>()) == 1);
    }
    CHECK(std::set<std::string>{"utf16CodeUnits", "unicodeCodePoints"}.count(run.at("columnKind")) == 1);
    for (const Json& invocation : run.at("invocations")) CHECK(invocation.at("executionSuccessful").is_boolean());
    REQUIRE(run.at("results").is_array());
    for (const Json& result : run["results"]) {
      CHECK(result.at("message").at("text").is_string());
      CHECK(levels.count(result.at("level").get<std::string>()) == 1);
      const Json& rule = driver["rules"].at(result.at("ruleIndex").get<std::size_t>());
      CHECK(rule["id"] == result.at("ruleId"));
      REQUIRE(result.at("locations").is_array());
      for (const Json& location : result["locations"]) check_location(location);
      for (const Json& location : result.value("relatedLocations", Json::array())) {
        check_location(location);
        CHECK(location.at("message").at("text").is_string());
      }
      for (const Json& suppression : result.value("suppressions", Json::array())) {
        CHECK(std::set<std::string>{"inSource", "external"}.count(suppression.at("kind")) == 1);
      }
    }
  }
}

Json parsed_log(const loomproof::Loom& loom, const loomproof::Judgement& judgement) {
  return Json::parse(sarif_of({{loom.file, &loom, &judgement, nullptr}}));
}

}  // namespace

TEST_CASE("the findings of the sample, level by level") {
  const Json document = parsed_log(sample::loom(), sample::judgement());
  check_shape(document);
  const Json& results = document["runs"][0]["results"];
  REQUIRE(results.size() == 5);  // two broken, two undecided, one waived; what holds is no result
  CHECK(results[0]["ruleId"] == "wire-heat");
  CHECK(results[0]["level"] == "error");
  CHECK(results[0]["locations"][0]["physicalLocation"]["region"] == Json{{"startLine", 3}, {"startColumn", 3}});
  CHECK(results[0]["relatedLocations"].size() == 1);
  CHECK(results[1]["ruleId"] == "fuse-volts");
  CHECK(results[1]["level"] == "error");
  CHECK(results[2]["ruleId"] == "colour-code");
  CHECK(results[2]["level"] == "note");
  CHECK(results[2]["suppressions"][0]["justification"] == "marked with sleeves instead");
  CHECK(results[3]["level"] == "warning");
  CHECK(results[4]["level"] == "warning");
  CHECK_FALSE(results[4]["locations"][0]["physicalLocation"].contains("region"));  // nowhere in the file
  for (const std::size_t i : {0u, 1u, 3u, 4u}) CHECK_FALSE(results[i].contains("suppressions"));
}

TEST_CASE("no finding, still a whole run") {
  const loomproof::Judgement nothing;
  const Json document = parsed_log(sample::loom(), nothing);
  check_shape(document);
  CHECK(document["runs"][0]["results"].empty());
  CHECK(document["runs"][0]["invocations"][0]["executionSuccessful"] == true);
}

TEST_CASE("a file that could not be read is a failed run, never a clean one") {
  const std::vector<loomproof::ReadFault> faults{{{3, 4}, "key 'siez' is not known", "did you mean 'size'?"},
                                                 {{}, "cannot read 'x': No such file or directory", ""}};
  const Json document = Json::parse(sarif_of({{"bad.yaml", nullptr, nullptr, &faults}}));
  check_shape(document);
  const Json& invocation = document["runs"][0]["invocations"][0];
  CHECK(invocation["executionSuccessful"] == false);
  REQUIRE(invocation["toolExecutionNotifications"].size() == 2);
  CHECK(invocation["toolExecutionNotifications"][0]["level"] == "error");
  check_location(invocation["toolExecutionNotifications"][0]["locations"][0]);
}

TEST_CASE("columns count characters, as columnKind says") {
  loomproof::Loom loom = sample::loom();
  loom.lines[2] = "\xc3\xa9\xc3\xa9T4: x";  // two characters of two bytes before it
  loomproof::Ledger ledger;
  ledger.open(sample::wire_heat, sample::wire("T4", 3, 5)).broken("hot");
  const loomproof::Judgement judgement{{ledger.obligations().begin(), ledger.obligations().end()}, {}, {}, {}};
  const Json document = parsed_log(loom, judgement);
  CHECK(document["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["region"]["startColumn"] == 3);
}

TEST_CASE("hostile names and paths stay inside their strings") {
  const loomproof::Loom loom = sample::hostile_loom();
  const loomproof::Judgement judgement = sample::hostile_judgement();
  const std::string text = sarif_of({{loom.file, &loom, &judgement, nullptr}});
  for (const char c : text) CHECK(((c >= 0x20 && c < 0x7F) || c == '\n'));
  check_shape(Json::parse(text));
}

TEST_CASE("paths become URIs") {
  const loomproof::Judgement judgement = sample::judgement();
  const auto uri = [&](const std::string& file) {
    const loomproof::Loom loom = sample::loom();
    const Json document = Json::parse(sarif_of({{file, &loom, &judgement, nullptr}}));
    return document["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        .get<std::string>();
  };
  CHECK(uri("a b/c.yaml") == "a%20b/c.yaml");
  CHECK(uri("/tmp/c.yaml") == "file:///tmp/c.yaml");
  CHECK(uri("c:d.yaml") == "c%3Ad.yaml");
}
