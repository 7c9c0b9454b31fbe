// The text answer: one golden text for the wording, and properties for safety and shape.
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>

#include <fmt/format.h>

#include "sample.h"
#include "show/wash.h"
#include "texts.h"

namespace {

using loomproof::text_of_faults;
using texts::has;

std::string file_text(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  REQUIRE_MESSAGE(in.good(), path);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

// Bytes that a terminal obeys: C0 but for the line end, DEL, C1 (as UTF-8 and as stray bytes), direction overrides.
void check_harmless(const std::string& text) {
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    CHECK_FALSE((byte < 0x20 && byte != '\n'));
    CHECK_FALSE(byte == 0x7F);
  }
  CHECK_FALSE(has(text, "\xc2\x9b"));
  CHECK_FALSE(has(text, "\x9b"));
  CHECK_FALSE(has(text, "\xe2\x80\xae"));
}

}  // namespace

TEST_CASE("the whole answer reads as agreed") {
  const std::string text = text_of(sample::loom(), sample::judgement(), {});
  const std::string golden = file_text(TESTS_DIR + "/show/golden/check.txt");
  CHECK_MESSAGE(text == golden, "the text is now:\n" << text);
}

TEST_CASE("errors of a file read as agreed") {
  const loomproof::Loom loom = sample::loom();
  const std::vector<loomproof::ReadFault> faults{{{3, 43}, "key 'siez' is not known in a wire", "did you mean 'size'?"},
                                                 {{}, "no vehicle is described", ""}};
  const std::string text = text_of_faults(loom.file, faults, loom.lines, {});
  CHECK_MESSAGE(text == file_text(TESTS_DIR + "/show/golden/faults.txt"), "the text is now:\n" << text);
}

TEST_CASE("nothing of a file reaches the terminal as a command") {
  const loomproof::Loom loom = sample::hostile_loom();
  check_harmless(text_of(loom, sample::hostile_judgement(), {}));
  check_harmless(text_of_faults(loom.file, {{{3, 3}, sample::hostile, sample::hostile}}, loom.lines, {}));
}

TEST_CASE("a name with a line end cannot forge a line of its own") {
  loomproof::Loom loom = sample::loom();
  loom.file = "x\ny.yaml: 9 hold, 0 broken, 0 undecided, 0 waived";
  const std::string text = text_of(loom, sample::judgement(), {});
  CHECK_FALSE(has(text, "\ny.yaml"));
}

TEST_CASE("colour adds escapes and nothing else") {
  const std::string plain = text_of(sample::loom(), sample::judgement(), {});
  std::string coloured = text_of(sample::loom(), sample::judgement(), {.colour = true});
  CHECK(has(coloured, "\x1b["));
  for (std::size_t at = 0; (at = coloured.find('\x1b')) != std::string::npos;) {
    coloured.erase(at, coloured.find('m', at) - at + 1);
  }
  CHECK(coloured == plain);
  CHECK_FALSE(has(plain, "\x1b"));
}

TEST_CASE("no closest call, no table; the other numbers stay") {
  const std::string text = text_of(sample::loom(), sample::judgement(), {.closest = 0});
  CHECK_FALSE(has(text, "closest"));
  CHECK(has(text, "3 hold, 2 broken (1 danger, 1 damage), 2 undecided, 1 waived"));
}

TEST_CASE("what was left out is said") {
  loomproof::Judgement judgement = sample::judgement();
  judgement.coverage = {10, 40, "double faults", "", 0, 0, 0, 0, 0, 0, ""};
  CHECK(has(text_of(sample::loom(), judgement, {}), "10 of 40 situations; left out: double faults"));
  judgement.coverage = {10, 40, "", "", 0, 0, 0, 0, 0, 0, ""};
  CHECK(has(text_of(sample::loom(), judgement, {}), "10 of 40 situations; the rest was not looked at"));
  judgement.coverage = {10, 40, "", "two groups of lamps", 0, 0, 0, 0, 0, 0, ""};
  CHECK(has(text_of(sample::loom(), judgement, {}),
            "10 of 40 situations settled; between them lie the others, two groups of lamps"));
  judgement.coverage = {};
  CHECK(has(text_of(sample::loom(), judgement, {}), "no situation was computed"));
}

TEST_CASE("what was ruled out, settled and left out of the single faults is said") {
  loomproof::Judgement judgement = sample::judgement();
  judgement.coverage = {40, 40, "", "", 20, 160, 300, 60, 50, 6, ""};
  CHECK(has(text_of(sample::loom(), judgement, {}),
            "20 single faults in 160 situations: 60 pairs with what must never be, 50 of them ruled out in\n"
            "  every state at once by what voltage there can be, 300 points settled for the others; 6 pairs of a\n"
            "  fault and a cone that it cannot touch left out\n"));
}

TEST_CASE("many findings of one shape are all printed") {
  loomproof::Ledger ledger;
  for (int i = 0; i < 60; ++i) ledger.open(sample::wire_heat, sample::wire("W", 3)).broken("'W' is hot");
  const loomproof::Judgement judgement{{ledger.obligations().begin(), ledger.obligations().end()}, {}, {}, {}};
  const std::string text = text_of(sample::loom(), judgement, {});
  int seen = 0;
  for (std::size_t at = 0; (at = text.find("danger: wire-heat: 'W' is hot\n", at)) != std::string::npos; ++at) ++seen;
  CHECK(seen == 60);
}

TEST_CASE("findings that differ in names and figures only: the first in full, then what differs; nothing else is cut") {
  loomproof::Ledger ledger;
  const auto hot = [&](const char* name, const char* degrees, const char* mend) -> loomproof::Obligation& {
    return ledger.open(sample::wire_heat, sample::wire(name, 3))
        .broken(fmt::format("'{}' reaches {} degC", name, degrees), std::nullopt, "climb")
        .note(fmt::format("carries {} A", degrees))
        .fix(mend);
  };
  hot("T4", "131", "25 mm2 stays below");
  hot("T5", "99.5", "25 mm2 stays below");
  hot("T6", "140", "35 mm2 stays below");
  hot("T7", "131", "25 mm2 stays below").note("and its bundle is hot");
  const loomproof::Judgement judgement{{ledger.obligations().begin(), ledger.obligations().end()}, {}, {}, {}};
  const std::string text = text_of(sample::loom(), judgement, {});
  CHECK(has(text, "'T4' reaches 131 degC\n  --> netlists/orchard-cart.yaml:3:3  [1]\n"));
  CHECK(has(text, "'T5' reaches 99.5 degC\n  --> netlists/orchard-cart.yaml:3:3  [2], as [1]\n\n"));
  CHECK(has(text,
            "'T6' reaches 140 degC\n  --> netlists/orchard-cart.yaml:3:3  [3], as [1]\n"
            "  = fix: 35 mm2 stays below\n\n"));
  CHECK(has(text, "  [4]\n"));
  CHECK(has(text, "and its bundle is hot"));
}

TEST_CASE("single points of failure: one line for each thing that happens, every fault named") {
  loomproof::Judgement judgement = sample::judgement();
  judgement.single_points = {{"'key' stuck in on", "torque with 'key' off"},
                             {"'main' welded", "the bus stays live"},
                             {"'key.blade' welded", "torque with 'key' off"}};
  const std::string text = text_of(sample::loom(), judgement, {});
  CHECK(has(text,
            "\n  torque with 'key' off: 'key' stuck in on, 'key.blade' welded\n  the bus stays live: 'main' welded\n"));
}

TEST_CASE("an obligation that no rule decided is shown as undecided") {
  loomproof::Ledger ledger;
  ledger.open(sample::wire_heat, sample::wire("T4", 3));
  const loomproof::Judgement judgement{{ledger.obligations().begin(), ledger.obligations().end()}, {}, {}, {}};
  const std::string text = text_of(sample::loom(), judgement, {});
  CHECK(has(text, "undecided: wire-heat: 'T4' was left without a verdict"));
  CHECK(has(text, "0 hold, 0 broken, 1 undecided, 0 waived"));
}

TEST_CASE("a long line is cut around the caret, and the caret stays below its token") {
  loomproof::Loom loom = sample::loom();
  for (const std::size_t before : {0u, 3u, 90u, 500u, 5000u}) {
    loom.lines[2] = std::string(before, '=') + "TOKEN," + std::string(4000, '-');
    const std::string text =
        text_of_faults(loom.file, {{{3, static_cast<int>(before) + 1}, "wrong", ""}}, loom.lines, {});
    std::istringstream in(text);
    std::string line, caret;
    while (std::getline(in, line) && line.find("3 |") != 0) continue;
    std::getline(in, caret);
    CHECK(line.size() < 120);
    REQUIRE(caret.find('^') != std::string::npos);
    const std::size_t marked = caret.find_last_of('^') - caret.find('^') + 1;
    CHECK(line.substr(caret.find('^'), marked) == "TOKEN");
  }
}

TEST_CASE("a place outside the file's lines shows no line and does not fail") {
  const loomproof::Loom loom = sample::loom();
  const std::string text = text_of_faults(loom.file, {{{999, 7}, "wrong", ""}, {{1, 999}, "far", ""}}, loom.lines, {});
  CHECK(has(text, ":999:7\n"));
  CHECK(has(text, ":1:999\n"));
}

TEST_CASE("washing: widths and replacements") {
  CHECK(loomproof::washed("a\tb") == "a b");
  CHECK(loomproof::washed("\xff\xc3/") == "?\?/");
  CHECK(loomproof::washed("caf\xc3\xa9") == "caf\xc3\xa9");
  CHECK(loomproof::width_of("caf\xc3\xa9") == 4);
  CHECK(loomproof::width_of("e\xcc\x81") == 1);                     // combining acute
  CHECK(loomproof::width_of("\xe9\x9b\xbb") == 2);                  // a CJK ideograph
  CHECK(loomproof::washed("\xc0\x9b\xed\xa0\x80") == "?\?\?\?\?");  // overlong escape, half of a surrogate pair
  CHECK(loomproof::wrapped("one two three", 2, 9) == "  one two\n  three\n");
}
