// The page of the format against what it is made from, and the copy among the docs against the page.
#include <doctest/doctest.h>

#include <fmt/format.h>

#include "model/kind.h"
#include "model/primitive_rules.h"
#include "read/attribute_reader.h"
#include "read/read.h"
#include "show/format_page.h"
#include "texts.h"
#include "where.h"

using namespace loomproof;

TEST_CASE("every kind with its attributes and terminals is on the page of the format") {
  const std::string page = format_page();
  for (const std::string_view name : catalogue_names()) {
    const KindResult read = read_kind(find_catalogue_text(name));
    REQUIRE(read.kind.has_value());
    const std::size_t from = page.find(fmt::format("\n### {}\n", read.kind->name));
    REQUIRE_MESSAGE(from != std::string::npos, name);
    const std::string section = page.substr(from, page.find("\n### ", from + 1) - from);
    for (const AttributeRule& rule : read.kind->attributes)
      CHECK_MESSAGE(section.find(fmt::format("\n| `{}` | ", rule.name)) != std::string::npos, name, ": ", rule.name);
    for (const TerminalRule& t : read.kind->terminals) {
      if (!t.inside) CHECK_MESSAGE(section.find(fmt::format("`{}`", t.name)) != std::string::npos, name, ": ", t.name);
    }
  }
}

TEST_CASE("docs/format.md is the page that the program prints") {
  // Made anew by `loomproof schema --format markdown > docs/format.md`.
  CHECK(texts::of_file(SOURCE_ROOT + "/docs/format.md") == format_page());
}

TEST_CASE("every primitive with every argument is on the page of the format") {
  const std::string page = format_page();
  const std::size_t from = page.find("\n### What stands inside a kind\n");
  REQUIRE(from != std::string::npos);
  const std::string section = page.substr(from, page.find("\n## ", from) - from);
  std::size_t told = 0;
  for (const PrimitiveRules& rules : primitive_rules()) {
    CAPTURE(std::string(rules.type));
    const std::size_t start = section.find(fmt::format("\n| `{}` | | | ", rules.type));
    REQUIRE(start != std::string::npos);
    // Up to the next primitive: a row of it begins with an empty cell.
    std::size_t end = start + 1;
    do end = section.find("\n| ", end) + 1;
    while (end != 0 && section.compare(end, 4, "| | ") == 0);
    const std::string rows = section.substr(start, end == 0 ? std::string::npos : end - start);
    const auto names = [&](const auto& arguments) {
      for (const auto& argument : arguments) {
        ++told;
        CHECK_MESSAGE(rows.find(fmt::format("\n| | `{}` | ", argument.name)) != std::string::npos, argument.name);
      }
    };
    names(rules.terminals);
    names(rules.numbers);
    names(rules.words);
    if (!rules.table.empty()) CHECK(rows.find(fmt::format("\n| | `{}` | ", rules.table)) != std::string::npos);
  }
  CHECK(told > 80);
}

// `| `name` | `first`, ...`: the first way in which the page says that an attribute is written.
TEST_CASE("every example of an attribute can be written: the reader takes it") {
  const std::string page = format_page();
  std::size_t tried = 0;
  for (const std::string_view name : catalogue_names()) {
    const KindResult read = read_kind(find_catalogue_text(name));
    REQUIRE(read.kind.has_value());
    const std::string section = page.substr(page.find(fmt::format("\n### {}\n", read.kind->name)));
    for (const AttributeRule& rule : read.kind->attributes) {
      const std::string head = fmt::format("\n| `{}` | ", rule.name);
      const std::size_t at = section.find(head) + head.size();
      const std::string cell = section.substr(at, section.find(" | ", at) - at);
      if (!cell.starts_with("`") || rule.form == Form::curve || rule.form == Form::names) continue;
      for (std::size_t open = 0; open != std::string::npos; open = cell.find('`', open)) {
        const std::size_t close = cell.find('`', open + 1);
        const std::string example = cell.substr(open + 1, close - open - 1);
        Part part;
        ++tried;
        const std::string fault = set_attribute(rule, example, {}, false, part);
        CHECK_MESSAGE(fault.empty(), name, ".", rule.name, ": ", example, ": ", fault);
        open = close + 1;
      }
      // What is on and what is off stand apart, and a cell is no 12 V battery.
      if (rule.name.starts_with("cell_") && rule.dimension == Dimension::voltage)
        CHECK(cell.find("12 V") == std::string::npos);
      if (rule.name == "inrush" && rule.dimension == Dimension::ratio) CHECK(cell.find("0.9") == std::string::npos);
    }
  }
  CHECK(tried > 200);
}
