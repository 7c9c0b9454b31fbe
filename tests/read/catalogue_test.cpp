// Every entry of the catalogue, judged by the same check as a user's own kind.
#include <doctest/doctest.h>
#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <string>

#include "model/primitive_rules.h"
#include "read/read.h"

using namespace loomproof;

TEST_CASE("every entry reads without a fault and says what it is") {
  for (const std::string_view name : catalogue_names()) {
    CAPTURE(name);
    const KindResult result = read_kind(find_catalogue_text(name));
    std::string faults;
    for (const ReadFault& f : result.faults) {
      faults += fmt::format("\n  {}:{}: {} ({})", f.at.line, f.at.column, f.what, f.hint);
    }
    CHECK_MESSAGE(faults.empty(), name << faults);
    if (!result.kind) continue;
    CHECK(result.kind->name == name);
    CHECK_FALSE(result.kind->about.empty());
    CHECK_FALSE(result.kind->own);
    for (const AttributeRule& rule : result.kind->attributes) {
      CAPTURE(rule.name);
      // A value that the tool takes for the user says where it comes from, except a plain count or word.
      const bool figure = rule.form != Form::choice && rule.dimension != Dimension::count;
      if (!rule.assumed.empty() && figure) CHECK_FALSE(rule.source.empty());
    }
  }
}

TEST_CASE("every file of the catalogue is compiled in, sorted, and nothing else is") {
  std::vector<std::string> files;
  for (const auto& entry : std::filesystem::directory_iterator(SOURCE_ROOT + "/src/model/catalogue")) {
    if (entry.path().extension() == ".yaml") files.push_back(entry.path().stem().string());
  }
  std::sort(files.begin(), files.end());
  const std::vector<std::string> names(catalogue_names().begin(), catalogue_names().end());
  CHECK(names == files);
  CHECK(find_catalogue_text("no-such-kind").empty());
}

TEST_CASE("an entry that does not fit together is refused with a place") {
  const KindResult result = read_kind(
      "kind: odd\n"
      "terminals: [a, b]\n"
      "inside:\n"
      "  - {resistance: body, a: a, b: b, ohm: 1 ohm}\n"
      "  - {resistance: other, a: a, b: zz, ohm: 1 ohm}\n");
  CHECK_FALSE(result.kind);
  REQUIRE(result.faults.size() == 1);
  CHECK(result.faults[0].at.line == 5);
}

TEST_CASE("the table of primitives has no name twice") {
  for (const PrimitiveRules& rules : primitive_rules()) {
    CHECK(find_primitive_rules(rules.type) == &rules);
    CHECK_FALSE(rules.about.empty());
  }
  CHECK(find_primitive_rules("flux") == nullptr);
}
