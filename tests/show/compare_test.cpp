// Comparing revisions: what the bench does again, and what became worse; each revision is a demo with one line changed.
#include "show/compare.h"

#include <nlohmann/json.hpp>

#include "show/paper_demos.h"

using namespace loomproof;

namespace {

const std::string& cart() {
  static const std::string text = papers_test::text_of(SOURCE_ROOT + "/netlists/orchard-cart.yaml");
  return text;
}

// The cart with every `from` replaced, which has to be there.
std::string cart_with(const std::vector<std::pair<std::string, std::string>>& swaps) {
  std::string text = cart();
  for (const auto& [from, to] : swaps) {
    const std::size_t at = text.find(from);
    REQUIRE_MESSAGE(at != std::string::npos, from);
    text.replace(at, from.size(), to);
  }
  return text;
}

Comparison compared(const std::string& before, const std::string& after) {
  const auto a = papers_test::solved_from("old.yaml", before), b = papers_test::solved_from("new.yaml", after);
  const Judgement ja = judge(a->solved), jb = judge(b->solved);
  return compare({&a->solved, &ja}, {&b->solved, &jb});
}

const WireChange* find(const Comparison& c, const std::string& wire) {
  for (const WireChange& w : c.wires) {
    if (w.name == wire) return &w;
  }
  return nullptr;
}

bool repeats(const Comparison& c, const std::string& section, const std::string& what) {
  return std::any_of(c.steps.begin(), c.steps.end(),
                     [&](const StepAgain& s) { return s.section.starts_with(section) && s.what.starts_with(what); });
}

}  // namespace

TEST_CASE("compare: the same loom, written otherwise, has not changed") {
  const std::vector<std::string> others{cart_with({{"length: 0.15 m", "length: 150 mm"}, {"35 mm2", "35.0 mm2"}}),
                                        cart(), cart_with({{"rated: 150 A", "rated: 0.15 kA"}}),
                                        "# a comment\n" + cart()};
  for (std::size_t i = 0; i < others.size(); i += every(4)) {
    const Comparison c = compared(cart(), others[i]);
    CHECK_FALSE(c.electrical());
    CHECK(c.worse.empty());
    CHECK(c.better.empty());
    CHECK(c.other.empty());
    CHECK(c.margins.empty());
    CHECK(c.steps.empty());
    CHECK(c.worst() == Verdict::holds);
    CHECK(compare_text(c).find("nothing electrical changed") != std::string::npos);
  }
}

TEST_CASE("compare: another length is a wire to cut again, and its tests to repeat") {
  const Comparison c = compared(
      cart(),
      cart_with({{"to: headlamp.pos, size: 1 mm2, length: 0.9 m", "to: headlamp.pos, size: 1 mm2, length: 1.4 m"}}));
  REQUIRE(c.wires.size() == 1);
  CHECK(c.wires[0].name == "H3");
  CHECK(c.wires[0].work == WireChange::Work::cut);
  REQUIRE(c.wires[0].changes.size() == 1);
  CHECK(c.wires[0].changes[0].before == "900 mm");
  CHECK(c.wires[0].changes[0].after == "1400 mm");
  CHECK(c.worse.empty());
  CHECK(repeats(c, "A.", "H3"));
  CHECK_FALSE(repeats(c, "A.", "H5"));
  CHECK(repeats(c, "B.", "traction + to frame"));
  CHECK(repeats(c, "5.", "torque"));
  // The drop to the lamp is an obligation of its own, and it grew.
  const bool drop = std::any_of(c.margins.begin(), c.margins.end(), [](const MarginChange& m) {
    return m.rule == "voltage-drop" && m.subject == "headlamp" && m.after.used > m.before.used;
  });
  CHECK(drop);
}

TEST_CASE("compare: a wire moved, renamed, taken out, added") {
  const Comparison moved =
      compared(cart(), cart_with({{"to: frame.stud3, size: 1.5 mm2", "to: frame.stud4, size: 1.5 mm2"}}));
  REQUIRE(find(moved, "B8"));
  CHECK(find(moved, "B8")->work == WireChange::Work::end);
  CHECK(repeats(moved, "A.", "B8"));

  const Comparison renamed = compared(cart(), cart_with({{"  I10: {", "  HORN: {"}}));
  REQUIRE(renamed.wires.size() == 1);
  CHECK(renamed.wires[0].work == WireChange::Work::label);
  CHECK(renamed.wires[0].changes[0].before == "I10");
  CHECK(renamed.worse.empty());
  CHECK(renamed.other.empty());

  const std::string h9 = "  H9:  {from: keyed, to: display.pos";
  const Comparison added =
      compared(cart(), cart_with({{h9, "  NEW: {from: keyed, to: display.pos, size: 1 mm2, length: 2 m}\n" + h9}}));
  REQUIRE(find(added, "NEW"));
  CHECK(find(added, "NEW")->added);
  const Comparison removed =
      compared(cart_with({{h9, "  NEW: {from: keyed, to: display.pos, size: 1 mm2, length: 2 m}\n" + h9}}), cart());
  REQUIRE(find(removed, "NEW"));
  CHECK(find(removed, "NEW")->work == WireChange::Work::remove);
}

TEST_CASE("compare: a larger fuse makes worse, and back makes better") {
  const std::string oversize = cart_with({{"rated: 15 A, volts: 32 V", "rated: 60 A, volts: 32 V"}});
  const Comparison worse = compared(cart(), oversize);
  CHECK(worse.worst() == Verdict::broken);
  REQUIRE_FALSE(worse.worse.empty());
  CHECK(worse.worse[0].before == Verdict::holds);
  CHECK(worse.worse[0].after == Verdict::broken);
  REQUIRE(worse.things.size() == 1);
  CHECK(worse.things[0].name == "lv_fuse");
  CHECK(worse.wires.empty());
  const Comparison better = compared(oversize, cart());
  CHECK(better.worse.empty());
  CHECK(better.better.size() == worse.worse.size());
}

TEST_CASE("compare: a datum taken away makes undecided, a waiver is told and is not better") {
  const std::string lacking = cart_with({{"pulse: 120 J", "pulse: 121 J"}, {"breaks: 12 kA at 80 V, ", ""}});
  const Comparison c = compared(cart(), lacking);
  CHECK(c.worst() == Verdict::undecided);
  const std::string waived =
      lacking + "\nwaive:\n  - {rule: fuse-breaking-capacity, subject: pack_fuse, reason: tested}\n";
  const ReadResult read = read_loom(waived, "new.yaml");
  REQUIRE_MESSAGE(read.loom.has_value(), (read.faults.empty() ? std::string() : read.faults.front().what));
  const Comparison set_aside = compared(lacking, waived);
  CHECK(set_aside.worse.empty());
  CHECK(set_aside.better.empty());
  CHECK(set_aside.other.size() == 1);
}

TEST_CASE("compare: JSON is one document with every list, and hostile names stay inside it") {
  const std::string h9 = "  H9:  {from: keyed, to: display.pos";
  const Comparison c = compared(
      cart(), cart_with({{h9, "  \"=x'<b>,\": {from: keyed, to: display.pos, size: 1 mm2, length: 2 m}\n" + h9}}));
  const auto json = nlohmann::json::parse(compare_json(c));
  for (const char* key :
       {"format", "old", "new", "worst", "worse", "better", "other", "wires", "things", "margins", "steps"}) {
    CHECK(json.contains(key));
  }
  CHECK(json["wires"][0]["wire"] == "=x'<b>,");
  CHECK(json["wires"][0]["new"] == true);
  CHECK(compare_json(c) == compare_json(c));
}
