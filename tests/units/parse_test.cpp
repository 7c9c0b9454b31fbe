// Parsing: tables of what is read and what is refused, the clauses, and any bytes at all.
#include "units/parse.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <random>
#include <string>

#include "rows.h"
#include "units/quote.h"

using loomproof::Dimension;

namespace {

const std::pair<const char*, Dimension> dimensions[] = {
    {"current", Dimension::current},
    {"voltage", Dimension::voltage},
    {"resistance", Dimension::resistance},
    {"capacitance", Dimension::capacitance},
    {"power", Dimension::power},
    {"energy", Dimension::energy},
    {"time", Dimension::time},
    {"length", Dimension::length},
    {"area", Dimension::area},
    {"temperature", Dimension::temperature},
    {"charge", Dimension::charge},
    {"let_through", Dimension::let_through},
    {"ratio", Dimension::ratio},
    {"count", Dimension::count},
};

Dimension dimension_named(const std::string& name) {
  for (const auto& [known, dimension] : dimensions) {
    if (name == known) return dimension;
  }
  throw std::runtime_error("no dimension " + name);
}

// One line of printable UTF-8 in the house style, whatever the input was.
void check_message(const std::string& error) {
  CAPTURE(error);
  CHECK_FALSE(error.empty());
  CHECK(error.size() < 300);
  CHECK(error.back() != '.');
  CHECK(std::none_of(error.begin(), error.end(), [](unsigned char c) { return c < 0x20 || c == 0x7F; }));
}

template <class T>
void check_settled(const loomproof::Parsed<T>& parsed) {
  CHECK(parsed.value.has_value() == parsed.error.empty());
  if (!parsed) check_message(parsed.error);
}

void check_any(const std::string& text, Dimension dimension) {
  const auto one = loomproof::parse_magnitude(text, dimension);
  check_settled(one);
  if (one) {
    CHECK(std::isfinite(one.value->value));
    CHECK(one.value->dimension == dimension);
    // The user's text is printed again in findings: it must read back as the same value.
    const auto again = loomproof::parse_magnitude(one.value->written, dimension);
    REQUIRE(again);
    CHECK(again.value->value == one.value->value);
  }
  check_settled(loomproof::parse_timed(text, dimension));
  check_settled(loomproof::parse_range(text, dimension));
  check_settled(loomproof::parse_at(text, dimension, Dimension::voltage));
}

}  // namespace

TEST_CASE("what is read") {
  for (const rows::Row& row : rows::read("units/good_quantities.txt", '|', false)) {
    CAPTURE(row.at("text"));
    const auto parsed = loomproof::parse_magnitude(row.at("text"), dimension_named(row.at("dimension")));
    REQUIRE_MESSAGE(parsed, parsed.error);
    const double expected = std::strtod(row.at("value").c_str(), nullptr);
    // Gauges are compared with the four digits of ASTM B258; all else is exact but for the last bits of a double.
    const double relative = row.at("text").find("AWG") == std::string::npos ? 1e-14 : 2e-4;
    CHECK(std::abs(parsed.value->value - expected) <= relative * std::abs(expected));
    CHECK_FALSE(std::signbit(expected == 0 ? parsed.value->value : 0.0));
    CHECK(parsed.value->written == row.at("text"));
    for (const auto& [name, other] : dimensions) {
      // Each text means one dimension only, except that a whole bare number is both a count and a ratio.
      if (row.at("dimension") == name || row.at("dimension") == "count" || row.at("dimension") == "ratio") continue;
      CAPTURE(name);
      const auto refused = loomproof::parse_magnitude(row.at("text"), other);
      CHECK_FALSE(refused);
      check_message(refused.error);
    }
  }
}

TEST_CASE("what is refused, word for word") {
  for (const rows::Row& row : rows::read("units/bad_quantities.txt", '|', false)) {
    CAPTURE(row.at("text"));
    const auto parsed = loomproof::parse_magnitude(row.at("text"), dimension_named(row.at("dimension")));
    CHECK_FALSE(parsed);
    CHECK(parsed.error == row.at("error"));
    check_message(parsed.error);
  }
}

TEST_CASE("every dimension has a form, and its example is read") {
  for (const auto& [name, dimension] : dimensions) {
    CAPTURE(name);
    const std::string form(loomproof::expected_form(dimension));
    std::string examples = form.substr(form.find(" such as ") + 9);
    for (std::size_t at = 0; at != std::string::npos;) {
      const std::size_t next = examples.find(" or ", at);
      const auto parsed =
          loomproof::parse_magnitude(examples.substr(at, next == std::string::npos ? next : next - at), dimension);
      CHECK_MESSAGE(parsed, parsed.error);
      at = next == std::string::npos ? next : next + 4;
    }
  }
}

TEST_CASE("a magnitude for a time") {
  const auto peak = loomproof::parse_timed("  300 A for 10 s ", Dimension::current);
  REQUIRE_MESSAGE(peak, peak.error);
  CHECK(peak.value->magnitude.value == 300);
  CHECK(peak.value->magnitude.written == "300 A");
  REQUIRE(peak.value->lasts);
  CHECK(peak.value->lasts->value == 10);
  const auto lasting = loomproof::parse_timed("300 A", Dimension::current);
  REQUIRE(lasting);
  CHECK_FALSE(lasting.value->lasts);
  const auto error = [](const char* text) { return loomproof::parse_timed(text, Dimension::current).error; };
  CHECK(error("300 A for 10") == "after 'for': bare number '10'; a time needs a unit, such as 45 s or 8 min");
  CHECK(error("300 A for") == "after 'for': nothing is written here; expected a time such as 45 s or 8 min");
  CHECK(error("for 10 s") == "nothing is written here; expected a current such as 120 A");
  CHECK(error("300 A for 0 s") == "after 'for': a time of zero; leave it out for a lasting value");
  CHECK(error("300 A for 5 m") ==
        "after 'for': '5 m' is a length; expected a time such as 45 s or 8 min; did you mean min?");
  CHECK(error("300 A at 80 V") ==
        "'at 80 V' is not expected after the unit in '300 A at 80 V'; expected a current such as 120 A");
}

TEST_CASE("a range") {
  const auto range = loomproof::parse_range("36 V to 75 V", Dimension::voltage);
  REQUIRE_MESSAGE(range, range.error);
  CHECK(range.value->low.value == 36);
  CHECK(range.value->high.value == 75);
  CHECK(range.value->high.written == "75 V");
  CHECK(loomproof::parse_range("5 V to 5 V", Dimension::voltage));
  const auto error = [](const char* text) { return loomproof::parse_range(text, Dimension::voltage).error; };
  CHECK(error("75 V to 36 V") == "'75 V to 36 V' runs downwards; write 36 V to 75 V");
  CHECK(error("36 to 75 V") == "bare number '36'; a voltage needs a unit, such as 48 V");
  CHECK(error("36 V") == "'36 V' is not a range; expected two values joined by 'to', each a voltage such as 48 V");
  CHECK(error("36..75 V") ==
        "'36..75 V' is not a range; expected two values joined by 'to', each a voltage such as 48 V");
  CHECK(error("36 V to") == "nothing is written here; expected a voltage such as 48 V");
  CHECK_FALSE(loomproof::parse_range("1 V to 2 V to 3 V", Dimension::voltage));
}

TEST_CASE("a magnitude at another") {
  const auto breaks = loomproof::parse_at("300 A at 80 V", Dimension::current, Dimension::voltage);
  REQUIRE_MESSAGE(breaks, breaks.error);
  CHECK(breaks.value->magnitude.value == 300);
  REQUIRE(breaks.value->at);
  CHECK(breaks.value->at->value == 80);
  const auto alone = loomproof::parse_at("300 A", Dimension::current, Dimension::voltage);
  REQUIRE(alone);
  CHECK_FALSE(alone.value->at);
  CHECK(loomproof::parse_at("300 A at 80 A", Dimension::current, Dimension::voltage).error ==
        "after 'at': '80 A' is a current; expected a voltage such as 48 V");
}

TEST_CASE("any bytes at all end in a value or in one printable line") {
  const std::string pieces[] = {"12",       "6",        "2/0",
                                "AWG",      " ",        "A",
                                "mm2",      "\xC2\xB2", "\xCE\xA9",
                                "\xC2\xB5", "F",        "to",
                                "for",      "at",       "-",
                                ".",        "e9",       "e999",
                                "x",        "inf",      "nan",
                                "%",        "\xC2",     "\xFF",
                                "\xE2",     "deg",      "C",
                                "0",        ",",        "'",
                                "\n",       "\t",       std::string(1, '\0'),
                                "h",        "V",        "s",
                                "m",        "\xC2\xA0", "\xE2\x88\x92",
                                "ohm"};
  std::mt19937 random(7);  // NOLINT: the same texts in each run
  for (int i = 0; i < 20000; ++i) {
    std::string text;
    const auto length = random() % 8;
    for (unsigned n = 0; n < length; ++n) {
      if (random() % 8 == 0) {
        text += static_cast<char>(random() % 256);
      } else {
        text += pieces[random() % std::size(pieces)];
      }
    }
    check_any(text, dimensions[random() % std::size(dimensions)].second);
  }
}

TEST_CASE("very long text is refused at once") {
  const auto start = std::chrono::steady_clock::now();
  for (const char* piece : {"9", " ", "A", "-", " for ", "to ", "\xC2\xB2", "\xFF", "0.", "AWG "}) {
    std::string text;
    while (text.size() < 4'000'000) text += piece;
    check_any(text, Dimension::current);
    check_any("1 A" + text, Dimension::current);
  }
  // Linear work takes a fraction of a second; a quadratic walk of 4 MB would take hours.
  CHECK(std::chrono::steady_clock::now() - start < std::chrono::seconds(60));
}

TEST_CASE("quoted text is short, printable UTF-8") {
  CHECK(loomproof::quoted("35 mm\xC2\xB2") == "'35 mm\xC2\xB2'");
  CHECK(loomproof::quoted("a\nb\x7F\xC2\x9B") == "'a?b?\?\?'");
  CHECK(loomproof::quoted("\xC2") == "'?'");
  CHECK(loomproof::quoted("\xED\xA0\x80") == "'?\?\?'");
  CHECK(loomproof::quoted(std::string(41, 'x')) == "'" + std::string(40, 'x') + "...'");
  CHECK(loomproof::quoted(std::string(40, 'x')) == "'" + std::string(40, 'x') + "'");
  CHECK(loomproof::quoted(std::string(39, 'x') + "\xC2\xB2") == "'" + std::string(39, 'x') + "...'");
}
