// The report's pieces: contrast of its colours, escaping, packed situations, and the page as a whole.
#include "show/report.h"

#include <algorithm>
#include <cmath>
#include <random>

#include <doctest/doctest.h>

#include "read/read.h"
#include "show/report_colours.h"
#include "show/report_escape.h"
#include "show/report_situations.h"
#include "show/shown_zones.h"
#include "show/stud_names.h"
#include "solve/supply.h"
#include "texts.h"

using namespace loomproof;
using report::Cone;
using texts::has;

namespace {

// Relative luminance and contrast ratio as WCAG 2.2 defines them
// (https://www.w3.org/TR/WCAG22/#dfn-relative-luminance, #dfn-contrast-ratio).
double channel(int byte) {
  const double c = byte / 255.0;
  return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

double luminance(std::string_view colour) {
  const auto byte = [&](std::size_t at) { return std::stoi(std::string(colour.substr(at, 2)), nullptr, 16); };
  return 0.2126 * channel(byte(1)) + 0.7152 * channel(byte(3)) + 0.0722 * channel(byte(5));
}

double contrast(std::string_view a, std::string_view b) {
  const auto [low, high] = std::minmax({luminance(a), luminance(b)});
  return (high + 0.05) / (low + 0.05);
}

const report::Tone& tone(std::string_view name) {
  const auto found =
      std::find_if(report::tones.begin(), report::tones.end(), [&](const auto& t) { return t.name == name; });
  REQUIRE(found != report::tones.end());
  return *found;
}

Loom demo_loom(const std::string& name) {
  const std::string path = std::string(SOURCE_ROOT) + "/netlists/" + name;
  ReadResult read = read_loom(texts::of_file(path), name);
  REQUIRE(read.loom);
  return *std::move(read.loom);
}

// What a reader of the table does: the character of the combination.
char look(const Cone& cone, const std::vector<std::size_t>& sizes, const std::vector<std::size_t>& at) {
  std::size_t cell = 0;
  for (const std::size_t k : cone.knobs) cell = cell * sizes[k] + at[k];
  return cone.table[cell];
}

}  // namespace

TEST_CASE("the contrast formula itself: published pairs") {
  CHECK(contrast("#000000", "#ffffff") == doctest::Approx(21).epsilon(1e-9));     // WCAG 2.2: ratios run from 1 to 21
  CHECK(contrast("#777777", "#ffffff") == doctest::Approx(4.48).epsilon(0.002));  // known to fail AA by a hair
  CHECK(contrast("#767676", "#ffffff") == doctest::Approx(4.54).epsilon(0.002));  // known to pass
}

TEST_CASE("every text and every line of the report has the contrast that WCAG 2 AA asks, light and dark") {
  for (const report::Meeting& m : report::meetings) {
    CAPTURE(m.over);
    CAPTURE(m.ground);
    CHECK(contrast(tone(m.over).light, tone(m.ground).light) >= m.least);
    CHECK(contrast(tone(m.over).dark, tone(m.ground).dark) >= m.least);
  }
}

TEST_CASE("text of the user stays text") {
  CHECK(html("<script>alert(\"1\")</script> & 'x'") ==
        "&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt; &amp; &#39;x&#39;");
  CHECK(html("a\x01"
             "b\xff"
             "c") == "a?b?c");
  CHECK(for_script(R"({"a":"</script><!--&"})") == R"({"a":"\u003c/script\u003e\u003c!--\u0026"})");
}

TEST_CASE("a cone is exact on every row and leaves out what does not matter") {
  const std::vector<std::size_t> sizes{2, 3, 2, 4, 2};
  std::vector<std::size_t> rows;
  std::vector<std::uint8_t> values;
  std::vector<std::vector<std::size_t>> at;
  std::mt19937 random(7);
  for (std::size_t i = 0; i < 2 * 3 * 2 * 4 * 2; ++i) {
    std::vector<std::size_t> digits(sizes.size());
    std::size_t rest = i;
    for (std::size_t k = sizes.size(); k-- > 0;) {
      digits[k] = rest % sizes[k];
      rest /= sizes[k];
    }
    if (random() % 5 == 0) continue;  // a situation that was not computed
    rows.push_back(i);
    at.push_back(digits);
    values.push_back(static_cast<std::uint8_t>(digits[1] == 2 && digits[3] > 1 ? digits[3] : 0));
  }
  const Cone cone = report::cone_of(sizes, rows, values);
  CHECK(cone.knobs == std::vector<std::size_t>{1, 3});
  for (std::size_t i = 0; i < rows.size(); ++i) CHECK(look(cone, sizes, at[i]) == '0' + values[i]);
}

TEST_CASE("the explorer says of every wire in every computed situation what the network said") {
  const Loom loom = demo_loom("orchard-cart.yaml");
  const Solved solved = solve(loom);
  const auto explorer = report::explorer_of(solved);
  REQUIRE(explorer);
  std::vector<std::size_t> sizes;
  std::vector<std::size_t> parts;
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    if (loom.parts[p].positions.size() > 1) parts.push_back(p);
  }
  for (const report::Knob& knob : explorer->knobs) sizes.push_back(knob.values.size());
  REQUIRE(sizes.size() == parts.size() + 2);
  std::size_t wrong = 0, looked = 0, live = 0;
  for (const OperatingPoint& point : solved.points) {
    std::vector<std::size_t> at;
    for (const std::size_t p : parts) at.push_back(static_cast<std::size_t>(point.situation.positions[p]));
    const std::string charge = point.situation.charge == Charge::full ? "full" : "empty";
    const auto& charges = explorer->knobs[parts.size()].values;
    at.push_back(static_cast<std::size_t>(std::find(charges.begin(), charges.end(), charge) - charges.begin()));
    at.push_back(point.situation.duty ? point.situation.duty->value + 1 : 0);
    if (look(explorer->settled, sizes, at) != '1') ++wrong;
    for (std::size_t w = 0; w < loom.wires.size(); ++w) {
      double volts = 0;
      for (const TerminalIndex t : {loom.wires[w].from, loom.wires[w].to}) {
        for (const SupplyPoles& supply : supply_poles(solved.circuit)) {
          const int node = solved.circuit.node(t);
          if (point.piece[supply.neg] == point.piece[node])
            volts = std::max(volts, point.node_v[node] - point.node_v[supply.neg]);
        }
      }
      const bool is_live = look(explorer->wire_volts[w].cone, sizes, at) != '0';
      const bool carries = look(explorer->wire_amps[w].cone, sizes, at) != '0';
      const double amps = std::fabs(wire_current(solved.circuit, point, WireIndex{w}).value);
      if (is_live != (volts > 1) || carries != (amps > 1e-3)) ++wrong;
      live += is_live;
      ++looked;
    }
  }
  CHECK(wrong == 0);
  CHECK(live > looked / 10);
  CHECK(live < looked * 9 / 10);
}

TEST_CASE("the page holds its answer, loads nothing, and is the same each time") {
  const Loom loom = demo_loom("broken/oversize-fuse.yaml");
  const Solved solved = solve(loom);
  const Judgement judgement = judge(solved);
  const std::string drawing =
      "<?xml version=\"1.0\"?><!-- x --><svg width=\"9pt\" height=\"9pt\" viewBox=\"0 0 9 9\" "
      "xmlns=\"http://www.w3.org/2000/svg\"><g id=\"wire T1\" class=\"edge\"><title>a&#45;&gt;b</title><path "
      "d=\"M0,0 1,1\"/></g><g id=\"node1\" class=\"node\">\n<title>finding 1</title></g></svg>";
  const std::string page = report_of(solved, judgement, drawing);
  CHECK(page == report_of(solved, judgement, drawing));
  CHECK(has(page, "Can I build this?"));
  const auto found = judgement.findings();
  const auto dangers = std::count_if(found.begin(), found.end(), [](const Obligation* o) {
    return o->verdict == Verdict::broken && o->weight() == Severity::danger;
  });
  REQUIRE(dangers > 1);
  CHECK(has(page, fmt::format("<p class=\"answer\">No. {} dangers must go first.</p>", dangers)));
  CHECK(has(page, "<g class=\"wire\" data-wire=\"0\"><path class=\"seen\" d=\"M0,0 1,1\"/></g>"));
  CHECK(has(page, "<g class=\"find\" data-finding=\"1\">"));
  for (const char* outside : {"src=", "http://", "https://", "url(", "@import", "<link"})
    CHECK_FALSE(has(page, outside));
}

TEST_CASE("no lead of a motor or a position sensor is told as one without a source") {
  const Loom loom = demo_loom("parcel-trike.yaml");
  const Solved solved = solve(loom);
  const std::string page = report_of(solved, judge(solved), "<svg viewBox=\"0 0 1 1\"></svg>");
  CHECK_FALSE(has(page, "no source behind it"));
  CHECK(has(page, "motor lead, its controller limits it"));
  CHECK(has(page, "signal lead, nothing drives a short"));
}

TEST_CASE("shown zones: position sensor leads are signals, also behind a connector; what hangs nowhere has no source") {
  std::string text = texts::of_file(std::string(SOURCE_ROOT) + "/netlists/parcel-trike.yaml");
  const auto change = [&](const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    REQUIRE(at != std::string::npos);
    text.replace(at, from.size(), to);
  };
  change("  frame:      {is: frame}", "  frame:      {is: frame}\n  nose: {is: connector, pins: 2, carries: 5 A}");
  change("to: motor.hall_c,", "to: nose.p1,");
  change("  # lights, indicators, bell",
         "  R6: {from: nose.s1, to: motor.hall_c, size: 0.5 mm2, length: 0.1 m}\n"
         "  R7: {from: nose.p2, to: lone.a, size: 0.5 mm2, length: 0.1 m}");
  change("  keyed:      {is: splice}", "  keyed:      {is: splice}\n  lone: {is: lamp, watts: 5 W, volts: 12 V}");
  const ReadResult read = read_loom(text, "trike");
  REQUIRE(read.loom);
  const Solved solved = solve(*read.loom);
  const std::vector<Zone> zones = shown_zones(solved);
  const auto zone_of = [&](const char* name) {
    const auto t = read.loom->find_terminal(name);
    REQUIRE_MESSAGE(t, name);
    return zones[t->value];
  };
  for (const char* name : {"drive.hall_a", "motor.hall_a", "motor.hall_b", "drive.hall_c", "nose.s1", "motor.hall_c"}) {
    CAPTURE(name);
    CHECK(zone_of(name) == Zone::signal);
  }
  CHECK(zone_of("nose.p2") == Zone::none);
  CHECK(zone_of("lone.a") == Zone::none);
  CHECK(zone_of("pack.pos") == Zone::traction);
  CHECK(zone_of("drive.hall_return") == Zone::low_voltage);
}

TEST_CASE("a stud named by a slip of the keyboard is told as a stud of its own; names made apart on purpose are not") {
  const auto told = [](const std::string& first, const std::string& second, int wires_at_second = 1) {
    std::string text = texts::of_file(std::string(SOURCE_ROOT) + "/netlists/parcel-trike.yaml");
    std::size_t changed = 0;
    for (std::size_t at = 0; (at = text.find("frame.seat", at)) != std::string::npos; ++changed) {
      const std::string name = static_cast<int>(changed) < wires_at_second ? second : first;
      text.replace(at, 10, "frame." + name);
      at += name.size();
    }
    REQUIRE(changed > 3);
    const ReadResult read = read_loom(text, "trike");
    REQUIRE(read.loom);
    return likely_slips_in_studs(*read.loom);
  };
  CHECK(told("seat", "saet") ==
        std::vector<std::string>{
            "'frame.saet' taken as a stud of its own beside 'frame.seat': write one name if it is one stud"});
  CHECK(told("seat", "sat").size() == 1);
  CHECK(told("seat", "Seat").size() == 1);
  for (const char* other : {"seats", "seal", "chair", "s2at", "seat2"}) {
    CAPTURE(other);
    CHECK(told("seat", other).empty());
  }
  CHECK(told("rear_l", "rear_r").empty());
  CHECK(told("seat", "saet", 2).empty());  // two wires on each: not one slip
}

TEST_CASE("what comes first: wires of one cause stand together, and the fix of one is not passed off as that of all") {
  const Loom loom = demo_loom("broken/oversize-fuse.yaml");
  const Solved solved = solve(loom);
  const std::string page = report_of(solved, judge(solved), "<svg viewBox=\"0 0 1 1\"></svg>");
  CHECK(has(page, "Likewise, each with a fix of its own: "));  // C8 wants 19.1 A at most, G3 17.5 A
}

TEST_CASE("a good demo says yes, and does not say that it approves") {
  const Loom loom = demo_loom("orchard-cart.yaml");
  const Solved solved = solve(loom);
  const std::string page = report_of(solved, judge(solved), "<svg viewBox=\"0 0 1 1\"></svg>");
  CHECK(has(page, "<p class=\"answer\">Yes, as described."));
  CHECK(has(page, "it approves nothing"));
  CHECK(has(page, "Nothing is broken"));
}
