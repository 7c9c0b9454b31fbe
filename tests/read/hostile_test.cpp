// Files made to hurt: each is refused with one clear fault, or read when it is harmless, without a crash and in time.
#include <doctest/doctest.h>
#include <fmt/core.h>

#include <ctime>
#include <string>

#include "read/read.h"

namespace {

using namespace loomproof;

std::string repeated(std::string_view piece, std::size_t times) {
  std::string out;
  out.reserve(piece.size() * times);
  for (std::size_t i = 0; i < times; ++i) out += piece;
  return out;
}

// The smallest file that reads clean; hostile text goes behind it or into it.
const std::string sound =
    "loom: 1\n"
    "parts:\n"
    "  cells: {is: battery}\n"
    "  lamp: {is: lamp}\n"
    "wires:\n"
    "  W1: {from: cells.pos, to: lamp.a}\n";

#ifdef __SANITIZE_ADDRESS__
constexpr double most_seconds = 10;
#else
constexpr double most_seconds = 1;
#endif

ReadResult timed(const std::string& text) {
  const std::clock_t start = std::clock();  // of the processor: a busy machine is no fault of the reader
  ReadResult result = read_loom(text, "hostile.yaml");
  const double took_s = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
  CHECK(took_s < most_seconds);
  return result;
}

void refused(const std::string& name, const std::string& text, const std::string& wanted) {
  CAPTURE(name);
  const ReadResult result = timed(text);
  CHECK_FALSE(result.loom);
  REQUIRE(result.faults.size() == 1);
  const ReadFault& fault = result.faults[0];
  CAPTURE(fault.what);
  CHECK((fault.what + " / " + fault.hint).find(wanted) != std::string::npos);
  CHECK(fault.at.line >= 1);
}

}  // namespace

TEST_CASE("the sound file is sound") {
  const ReadResult result = timed(sound);
  CHECK(result.faults.empty());
  REQUIRE(result.loom);
  CHECK(result.loom->wires.size() == 1);
}

TEST_CASE("harmless oddities of a text are read") {
  std::string crlf;
  for (const char c : sound) crlf += c == '\n' ? std::string("\r\n") : std::string(1, c);
  for (const std::string& text :
       {crlf, "\xEF\xBB\xBF" + sound, "# a comment first\n\n" + sound, sound + "\n\n# and last", "---\n" + sound,
        sound.substr(0, sound.size() - 1), sound + "...\n"}) {
    const ReadResult result = timed(text);
    CAPTURE(text);
    if (!result.faults.empty()) CAPTURE(result.faults[0].what);
    CHECK(result.faults.empty());
    CHECK(result.loom);
  }
  const ReadResult result = timed(crlf);
  CHECK(result.lines[0] == "loom: 1");
  REQUIRE(result.loom);
  CHECK(result.loom->wires[0].at == Place{6, 3});
  CHECK(timed("\xEF\xBB\xBF" + sound).loom->lines[0] == "loom: 1");
}

TEST_CASE("nothing to read") {
  refused("empty", "", "the file is empty");
  refused("blank", "\n\n   \n", "the file is empty");
  refused("comments", "# only\n# comments\n", "the file is empty");
  refused("mark", "\xEF\xBB\xBF", "the file is empty");
  refused("bare start", "---\n", "not a map of sections");
  refused("text", "hello", "not a map of sections");
}

TEST_CASE("bytes that are no text") {
  refused("nul", sound + std::string("a: \0b\n", 6), "control byte 0x00");
  // Byte 4 is the end of input for yaml-cpp: what follows it would vanish in silence.
  refused("end of transmission", sound + "\x04" + "bundles: 1\n", "control byte 0x04");
  refused("escape", sound + "# \x1b[31m\n", "control byte 0x1B");
  refused("latin 1", sound + "# caf\xE9\n", "byte 0xE9 is not UTF-8");
  refused("overlong", sound + "# \xC0\xAF\n", "byte 0xC0 is not UTF-8");
  refused("surrogate", sound + "# \xED\xA0\x80\n", "byte 0xED is not UTF-8");
  refused("cut", sound + "# \xE2\x82", "byte 0xE2 is not UTF-8");
  refused("UTF-16", std::string("\xFF\xFEl\0o\0", 6), "UTF-16");
  refused("old line ends", "loom: 1\rparts: {}\r", "carriage return");
  refused("random", repeated("\x93\x01\xFE\x80", 50'000), "is not UTF-8");
}

TEST_CASE("too much") {
  refused("100 MB", std::string(100u << 20, 'a'), "at most 4194304 are read");
  refused("many lines", repeated("#\n", 2'000'000), "more than 400000 values or lines");
  refused("many values", "loom: [" + repeated("a,", 1'000'000) + "a]\n", "more than 400000 values or lines");
  refused("many block items", "loom:\n" + repeated("- a\n", 390'000) + "x: [" + repeated("a,", 100'000) + "a]",
          "more than 400000 values");
}

TEST_CASE("nesting too deep") {
  for (const std::size_t depth : {100u, 1'900u, 100'000u, 2'000'000u}) {
    CAPTURE(depth);
    for (const std::string piece : {"[", "{", "{a: ", "[{a: ", "? ", "- ", "{? ", "[[", "[? "}) {
      const std::string text = repeated(piece, std::min(depth, std::size_t{4'000'000} / piece.size()));
      CAPTURE(piece);
      const ReadResult result = timed(text);
      CHECK_FALSE(result.loom);
      REQUIRE(result.faults.size() == 1);
      const std::string& what = result.faults[0].what;
      CAPTURE(what);
      CHECK((what.find("nest deeper than 40") != std::string::npos ||
             what.find("brackets are open") != std::string::npos || what.find("values or lines") != std::string::npos));
    }
  }
  std::string stairs;
  for (int i = 0; i < 2'000; ++i) stairs += std::string(i, ' ') + "a:\n";
  refused("block maps", stairs, "nest deeper than 40");
  // Brackets in quotes and comments are none.
  const ReadResult result = timed(sound + "vehicle: {name: \"[[[[[[[[[[{{{{{{\"}  # [[[[[[{{{{{\n");
  CHECK(result.faults.empty());
}

TEST_CASE("aliases") {
  CHECK(
      timed("loom: 1\nparts:\n  a: &b {is: battery}\n  c: *b\nwires:\n  W: {from: a.pos, to: c.neg}\n").faults.empty());
  refused("holds itself", "loom: &a [*a]\n", "stands inside the value that it repeats");
  refused("holds itself deeper", "loom: &a {b: {c: [1, *a]}}\n", "stands inside the value that it repeats");
  std::string bomb = "a0: &a0 [x,x,x,x,x,x,x,x,x]\n";
  for (int i = 1; i < 12; ++i) bomb += fmt::format("a{0}: &a{0} [*a{1},*a{1},*a{1},*a{1},*a{1},*a{1}]\n", i, i - 1);
  refused("bomb", bomb, "once aliases are followed");
  std::string tower = "a0: &a0 [x]\n";
  for (int i = 1; i < 100; ++i) tower += fmt::format("a{0}: &a{0} [*a{1}]\n", i, i - 1);
  refused("tower", tower, "nest deeper than 40");
  // An anchor given again means its newest value.
  CHECK(timed("loom: &x 2\nparts: {a: {is: battery}}\nwires: &x {W: {from: a.pos, to: a.neg}}\n").faults.size() == 1);
}

TEST_CASE("one long thing") {
  const std::string megabytes(3'000'000, 'a');
  CHECK_FALSE(timed(megabytes + ": 1\n").loom);
  CHECK_FALSE(timed("\"" + megabytes).loom);
  CHECK_FALSE(timed("'" + megabytes + "'").loom);
  CHECK_FALSE(timed("&" + megabytes + " a").loom);
  CHECK_FALSE(timed("!" + megabytes + " a").loom);
  CHECK_FALSE(timed("%" + megabytes + "\n").loom);
  CHECK_FALSE(timed("loom: 1\nparts: {" + megabytes + ": {is: fuse}}\nwires: {}\n").loom);
  CHECK_FALSE(timed("a: |\n " + megabytes).loom);
  CHECK_FALSE(timed(sound + "vehicle: {name: \"" + repeated("\\u0041", 600'000) + "\"}\nx: 1").loom);
}

TEST_CASE("thousands of faults, names and repeats") {
  std::string wires = "wires:\n";
  for (int i = 0; i < 40'000; ++i) wires += fmt::format(" W{}: {{from: x.a, to: y.b}}\n", i);
  const ReadResult many = timed("loom: 1\nparts: {a: {is: battery}}\n" + wires);
  CHECK(many.faults.size() == 101);
  CHECK(many.faults.back().what.find("more errors from here on are not listed") != std::string::npos);

  std::string parts = "loom: 1\nparts:\n";
  for (int i = 0; i < 20'000; ++i) parts += fmt::format(" splice{}: {{is: splice}}\n", i);
  parts += "wires:\n";
  for (int i = 0; i < 20'000; ++i) parts += fmt::format(" W{}: {{from: splise1.a, to: splice2.b}}\n", i);
  CHECK(timed(parts).faults.size() == 101);

  std::string repeats =
      "loom: 1\nkinds: {row: {terminals: [\"p{n}\"], repeat: n, attributes: {n: {is: count}}}}\nparts:\n";
  for (int i = 0; i < 20'000; ++i) repeats += fmt::format(" r{}: {{is: row, n: 1000}}\n", i);
  CHECK_FALSE(timed(repeats + "wires: {a: {from: r0.p1, to: r1.p1}}\n").loom);

  // The same key over and over, and every key different.
  CHECK(timed("loom: 1\n" + repeated("a: 1\n", 100'000)).faults.size() == 101);
  std::string keys;
  for (int i = 0; i < 100'000; ++i) keys += fmt::format("k{}: 1\n", i);
  CHECK(timed(keys).faults.size() == 101);
}

TEST_CASE("lists and kinds that would be searched for ever") {
  std::string names = "a0";
  for (int i = 1; i < 100'000; ++i) names += fmt::format(",a{}", i);
  const std::string wires = "wires: {W: {from: s.a, to: s.b}}\n";
  CHECK_FALSE(timed("loom: 1\nparts: {s: {is: switch, positions: [" + names + "]}}\n" + wires).loom);
  CHECK_FALSE(timed("loom: 1\nkinds: {k: {terminals: [" + names + "]}}\nparts: {s: {is: k}}\n" + wires).loom);
  std::string attributes;
  std::string primitives;
  for (int i = 0; i < 40'000; ++i) {
    attributes += fmt::format("   a{}: {{is: voltage}}\n", i);
    primitives += fmt::format("   - {{resistance: r{}, a: a, b: b, ohm: a{}}}\n", i, i);
  }
  const std::string kind = "loom: 1\nkinds:\n k:\n  terminals: [a, b]\n  attributes:\n" + attributes;
  CHECK_FALSE(timed(kind + "parts: {s: {is: k}}\n" + wires).loom);
  CHECK_FALSE(timed("loom: 1\nkinds:\n k:\n  terminals: [a, b]\n  attributes: {a1: {is: resistance}}\n  inside:\n" +
                    primitives + "parts: {s: {is: k}}\n" + wires)
                  .loom);
  std::string factors = "a1";
  for (int i = 0; i < 400'000; ++i) factors += " * a1";
  CHECK_FALSE(timed("loom: 1\nkinds:\n k:\n  terminals: [a, b]\n  attributes: {a1: {is: resistance}}\n  inside:\n"
                    "   - {resistance: r, a: a, b: b, ohm: " +
                    factors + "}\nparts: {s: {is: k}}\n" + wires)
                  .loom);
  std::string bundles;
  for (int i = 0; i < 100'000; ++i) bundles += fmt::format(" a{}:\n", i);
  CHECK_FALSE(timed("loom: 1\nparts: {s: {is: fuse}}\nbundles:\n" + bundles + "wires: {W: {from: s.a, to: s.b, in: [" +
                    names + "]}}\n")
                  .loom);
}

TEST_CASE("any cut of a good file is refused or read, never worse") {
  for (std::size_t cut = 0; cut < sound.size(); ++cut) {
    const ReadResult result = read_loom(std::string_view(sound).substr(0, cut), "cut.yaml");
    CHECK((result.loom.has_value() != !result.faults.empty()));
  }
}
