// The page of the format against what it is made from, and the copy among the docs against the page.
#include <doctest/doctest.h>

#include <fmt/format.h>

#include "model/kind.h"
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
