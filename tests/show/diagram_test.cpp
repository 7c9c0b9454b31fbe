// The wiring diagram: every wire once, zones, weights and markers in the DOT text, and no name that breaks out of it.
#include "show/diagram.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <regex>
#include <sstream>
#include <string>
#include <vector>

#include "read/read.h"
#include "show/diagram_view.h"
#include "show/dot_escape.h"
#include "show/run_dot.h"
#include "show/svg_sheet.h"
#include "solve/solved.h"
#include "texts.h"

using loomproof::DiagramRequest;
using loomproof::DrawFormat;
using loomproof::DrawOutcome;
using loomproof::DrawResult;
using loomproof::Judgement;
using loomproof::Loom;
using loomproof::Obligation;
using loomproof::Zone;

namespace {

Loom shown_loom(const std::string& name) {
  const auto result = loomproof::read_loom(texts::of_file(std::string(TESTS_DIR) + "/show/looms/" + name), name);
  REQUIRE_MESSAGE(result.loom.has_value(), (result.faults.empty() ? "" : result.faults.front().what));
  return *result.loom;
}

/// Zones by the thumb, enough for the drawing: what the pack's side of the sample is called by its wires' letters.
std::vector<Zone> zones_of(const Loom& loom) {
  std::vector<Zone> zones(loom.terminals.size(), Zone::none);
  const std::map<char, Zone> by_letter{{'T', Zone::traction},    {'M', Zone::traction},    {'P', Zone::traction},
                                       {'D', Zone::traction},    {'C', Zone::traction},    {'B', Zone::traction},
                                       {'S', Zone::signal},      {'L', Zone::low_voltage}, {'K', Zone::low_voltage},
                                       {'H', Zone::low_voltage}, {'F', Zone::low_voltage}, {'N', Zone::low_voltage},
                                       {'V', Zone::low_voltage}};
  for (const auto& wire : loom.wires) {
    const auto zone = by_letter.find(wire.name[0]);
    if (zone == by_letter.end()) continue;
    zones[wire.from.value] = std::max(zones[wire.from.value], zone->second);
    zones[wire.to.value] = std::max(zones[wire.to.value], zone->second);
  }
  return zones;
}

struct EdgeLine {
  std::string from, to, attributes;
};

std::vector<EdgeLine> edges_of(const std::string& dot) {
  std::vector<EdgeLine> edges;
  std::istringstream lines(dot);
  const std::regex edge("^\"([^\"]*)\" -> \"([^\"]*)\" \\[(.*)\\];$");
  for (std::string line; std::getline(lines, line);) {
    std::smatch match;
    if (std::regex_match(line, match, edge)) edges.push_back({match[1], match[2], match[3]});
  }
  return edges;
}

std::string attribute(const std::string& attributes, const std::string& name) {
  std::smatch match;
  const std::regex one("(?:^|, )" + name + "=(\"[^\"]*\"|[^,\\]]*)");
  return std::regex_search(attributes, match, one) ? match[1].str() : "";
}

/// Small and strict enough for what dot writes: every tag closed in order, no bare `<` or `&`.
bool well_formed(const std::string& xml) {
  std::vector<std::string> open;
  for (std::size_t i = 0; i < xml.size(); ++i) {
    if (xml[i] == '&') {
      const std::size_t end = xml.find(';', i);
      if (end == std::string::npos || end - i > 9) return false;
      continue;
    }
    if (xml[i] != '<') continue;
    const bool comment = xml.compare(i, 4, "<!--") == 0;
    const std::size_t end = comment ? xml.find("-->", i) : xml.find('>', i);
    if (end == std::string::npos) return false;
    const std::string tag = xml.substr(i + 1, end - i - 1);
    i = comment ? end + 2 : end;
    if (comment || tag[0] == '?' || tag[0] == '!') continue;
    if (tag.find('<') != std::string::npos) return false;
    const std::string name = tag.substr(tag[0] == '/' ? 1 : 0, tag.find_first_of(" \n/", 1) - (tag[0] == '/' ? 1 : 0));
    if (tag[0] == '/') {
      if (open.empty() || open.back() != name) return false;
      open.pop_back();
    } else if (tag.back() != '/') {
      open.push_back(name);
    }
  }
  return open.empty();
}

Judgement judgement_with(std::vector<Obligation> obligations) {
  Judgement judgement;
  judgement.obligations = std::move(obligations);
  return judgement;
}

Obligation finding(loomproof::Verdict verdict, std::string what) {
  Obligation obligation;
  obligation.verdict = verdict;
  obligation.what = std::move(what);
  return obligation;
}

}  // namespace

TEST_CASE("each wire is one edge between its own terminals, with number, size and colour as text") {
  for (const char* name : {"orchard-60.yaml", "bench-12.yaml"}) {
    CAPTURE(name);
    const Loom loom = shown_loom(name);
    const std::string dot = loomproof::dot_text({loom, nullptr, zones_of(loom)});
    const std::vector<EdgeLine> edges = edges_of(dot);
    CHECK(edges.size() == loom.wires.size());
    for (const auto& wire : loom.wires) {
      CAPTURE(wire.name);
      const std::string id = "\"wire " + wire.name + "\"";
      const auto mine = [&](const EdgeLine& e) { return attribute(e.attributes, "id") == id; };
      REQUIRE(std::count_if(edges.begin(), edges.end(), mine) == 1);
      const EdgeLine& edge = *std::find_if(edges.begin(), edges.end(), mine);
      CHECK(edge.from == loom.title(wire.from));
      const bool earthed = loom.kind_of(loom.part(loom.terminal(wire.to).part)).is_frame;
      CHECK(edge.to == (earthed ? wire.name + "@" + loom.title(wire.to) : loom.title(wire.to)));
      const std::string label = attribute(edge.attributes, "label");
      CHECK(label.find(wire.name + " ") == 1);
      CHECK(label.find(wire.colour->value) != std::string::npos);
    }
  }
}

TEST_CASE("a larger wire never has a thinner line, and a much larger one has a heavier") {
  const Loom loom = shown_loom("orchard-60.yaml");
  std::map<double, double> width_by_size;
  for (const EdgeLine& edge : edges_of(loomproof::dot_text({loom, nullptr, zones_of(loom)}))) {
    for (const auto& wire : loom.wires) {
      if (attribute(edge.attributes, "id") == "\"wire " + wire.name + "\"") {
        width_by_size[wire.size->value.value] = std::stod(attribute(edge.attributes, "penwidth"));
      }
    }
  }
  REQUIRE(width_by_size.size() >= 5);
  double before = 0;
  for (const auto& [size, width] : width_by_size) {
    CHECK(width > before);
    before = width;
  }
  CHECK(width_by_size.rbegin()->second > 2.5 * width_by_size.begin()->second);
}

TEST_CASE("zones are clusters that hold their parts, and a line's look differs by more than tint") {
  const Loom loom = shown_loom("orchard-60.yaml");
  const std::string dot = loomproof::dot_text({loom, nullptr, zones_of(loom)});
  const auto within = [&](const std::string& cluster, const std::string& node) {
    const std::size_t from = dot.find("subgraph \"" + cluster + "\"");
    REQUIRE(from != std::string::npos);
    return dot.substr(from, dot.find("\n}\n", from) - from).find("\"" + node + "\" [") != std::string::npos;
  };
  CHECK(within("cluster traction", "part pack"));
  CHECK(within("cluster traction", "main.a"));
  CHECK(within("cluster low voltage", "part horn"));
  CHECK_FALSE(within("cluster low voltage", "part pack"));
  CHECK(within("cluster signal", "part throttle"));
  std::map<std::string, std::string> style, tint;
  for (const EdgeLine& edge : edges_of(dot)) {
    style[attribute(edge.attributes, "id")] = attribute(edge.attributes, "style");
    tint[attribute(edge.attributes, "id")] = attribute(edge.attributes, "color");
  }
  CHECK(style["\"wire S1\""] != style["\"wire L3\""]);
  CHECK(tint["\"wire T1\""] != tint["\"wire L3\""]);
  CHECK(tint["\"wire T1\""] == tint["\"wire T5\""]);  // red and black insulation, same zone, same tint
}

TEST_CASE("findings are numbered markers, numbered as in the text") {
  const Loom loom = shown_loom("bench-12.yaml");
  Obligation holding = finding(loomproof::Verdict::holds, "fine");
  holding.subject.wire = loomproof::WireIndex{1};
  Obligation broken = finding(loomproof::Verdict::broken, "'T1' is too thin");
  broken.subject.wire = loomproof::WireIndex{0};
  Obligation undecided = finding(loomproof::Verdict::undecided, "breaking capacity of 'pack_fuse'");
  undecided.subject.part = loom.find_part("pack_fuse");
  const Judgement judgement = judgement_with({broken, undecided, holding});
  const std::string dot = loomproof::dot_text({loom, &judgement, zones_of(loom)});
  const auto count = [&](const std::string& what) {
    std::size_t n = 0;
    for (std::size_t at = dot.find(what); at != std::string::npos; at = dot.find(what, at + 1)) ++n;
    return n;
  };
  CHECK(count("\"finding ") == 2);
  CHECK(count("\"finding 1\" [shape=ellipse") == 1);
  CHECK(count("\"finding 2\" [shape=box") == 1);
  CHECK(dot.find("tooltip=\"'T1' is too thin\"") != std::string::npos);
}

TEST_CASE("the same loom gives the same bytes, in DOT and in SVG") {
  const Loom loom = shown_loom("bench-12.yaml");
  const DiagramRequest request{loom, nullptr, zones_of(loom)};
  const std::string dot = loomproof::dot_text(request);
  CHECK(dot == loomproof::dot_text(request));
  const DrawResult one = loomproof::draw(dot, DrawFormat::svg), two = loomproof::draw(dot, DrawFormat::svg);
  REQUIRE_MESSAGE(one.outcome == DrawOutcome::drawn, one.error);
  CHECK(one.bytes == two.bytes);
  CHECK(one.bytes.find("Generated by") == std::string::npos);
  CHECK(well_formed(one.bytes));
}

TEST_CASE("no name breaks out of DOT or SVG") {
  const std::vector<std::string> hostile{"a\"b",
                                         "a\\",
                                         "\\N\\G\\\"",
                                         "</text><script>alert(1)</script>",
                                         "&lt;b&gt;",
                                         "x]; y [label=z",
                                         "line\nbreak",
                                         "-Tpng",
                                         "<b>bold</b>",
                                         "größe",
                                         "\xff\xfe",
                                         "\x01\x02",
                                         "]]>",
                                         std::string(3000, 'w'),
                                         "\xe2\x80\xae"
                                         "reversed",
                                         "\xed\xa0\x80"};
  for (std::size_t i = 0; i < hostile.size(); i += every(3)) {
    const std::string& name = hostile[i];
    CAPTURE(name);
    Loom loom = shown_loom("bench-12.yaml");
    loom.vehicle = loom.file = name;
    for (auto& part : loom.parts) part.name = name + part.name;
    for (auto& wire : loom.wires) {
      wire.name = name + wire.name;
      wire.colour->value = name;
    }
    for (auto& terminal : loom.terminals) terminal.name += name;
    const Judgement judgement = judgement_with({[&] {
      Obligation o = finding(loomproof::Verdict::broken, name);
      o.subject.wire = loomproof::WireIndex{0};
      return o;
    }()});
    const DrawResult drawn = loomproof::draw(loomproof::dot_text({loom, &judgement, {}}), DrawFormat::svg);
    REQUIRE_MESSAGE(drawn.outcome == DrawOutcome::drawn, drawn.error);
    CHECK(well_formed(drawn.bytes));
    CHECK(drawn.bytes.find("<script") == std::string::npos);
    // As many lines and nodes as with tame names: nothing was added.
    std::size_t edges = 0;
    for (std::size_t at = drawn.bytes.find("class=\"edge\""); at != std::string::npos;
         at = drawn.bytes.find("class=\"edge\"", at + 1))
      ++edges;
    CHECK(edges == loom.wires.size());
  }
}

TEST_CASE("escapes") {
  CHECK(loomproof::dot_label("a\"\\&") == "\"a&quot;&#92;&amp;\"");
  CHECK(loomproof::dot_label("a\nb\xff") == "\"a b?\"");
  CHECK(loomproof::dot_id("a\"b\\") == "\"a%22b%5C\"");
  CHECK(loomproof::dot_id("%22") != loomproof::dot_id("\""));
  CHECK(loomproof::shortened("grösse", 4) == "grö…");
  CHECK(loomproof::shortened("abcd", 4) == "abcd");
}

namespace {

struct Stroke {
  double x1, y1, x2, y2;
};

/// The straight strokes of two points in a picture, from left to right or from top to bottom.
std::vector<Stroke> strokes_of(const std::string& svg) {
  std::vector<Stroke> strokes;
  const std::regex line("<polyline [^>]*points=\"([-0-9.]+),([-0-9.]+) ([-0-9.]+),([-0-9.]+) ?\"");
  for (std::sregex_iterator at(svg.begin(), svg.end(), line), end; at != end; ++at) {
    const Stroke s{std::stod((*at)[1]), std::stod((*at)[2]), std::stod((*at)[3]), std::stod((*at)[4])};
    strokes.push_back(s.x1 <= s.x2 ? s : Stroke{s.x2, s.y2, s.x1, s.y1});
  }
  return strokes;
}

/// By part: how many of its blades are drawn, and how many of them lie against a stop.
std::map<std::string, std::pair<int, int>> blades_of(const std::string& svg) {
  const std::vector<Stroke> strokes = strokes_of(svg);
  std::map<std::string, std::pair<int, int>> blades;
  for (const auto& [part, box] : svg::read(svg).parts) {
    auto& [drawn, closed] = blades[part];
    for (const Stroke& s : strokes) {
      const bool here = box.holds(s.x1, s.y1) && s.x2 < box.right;
      // A blade rises to the right, longer than the stroke in a coil.
      if (!here || s.x2 - s.x1 < 15 || s.y1 - s.y2 < 4) continue;
      ++drawn;
      closed += std::any_of(strokes.begin(), strokes.end(), [&](const Stroke& stop) {
        // The stop stands upright on the fixed contact's lead, and the blade passes its end within a stroke's width.
        if (stop.x1 != stop.x2 || stop.x1 < s.x1 || stop.x1 > s.x2) return false;
        const double end_y = std::min(stop.y1, stop.y2), foot_y = std::max(stop.y1, stop.y2);
        const double passes_y = s.y1 + (s.y2 - s.y1) * (stop.x1 - s.x1) / (s.x2 - s.x1);
        return std::abs(foot_y - s.y1) < 0.5 && std::abs(passes_y - end_y) < 1;
      });
    }
  }
  return blades;
}

}  // namespace

TEST_CASE("the power view of every demo has the main way in one straight line, coil leads beside it or not") {
  const std::map<std::string, std::vector<std::string>> ways{{"marshals-quad", {"X1", "X2", "X3", "X4"}},
                                                             {"orchard-cart", {"T1", "T2", "T3", "T4", "T5"}},
                                                             {"parcel-trike", {"T1", "T2", "T4"}}};
  for (const auto& [demo, way] : ways) {
    CAPTURE(demo);
    const auto read = loomproof::read_loom(texts::of_file(SOURCE_ROOT + "/netlists/" + demo + ".yaml"), demo);
    REQUIRE(read.loom);
    const loomproof::Solved solved = loomproof::solve(*read.loom);
    DiagramRequest request{*read.loom, nullptr, solved.zone};
    request.wires = loomproof::wires_of_view(*read.loom, request.zones, loomproof::DiagramView::power);
    std::map<std::string, std::vector<double>> points;
    for (const EdgeLine& edge : edges_of(loomproof::dot_text(request))) {
      std::string id = attribute(edge.attributes, "id"), at = attribute(edge.attributes, "pos");
      std::replace(at.begin(), at.end(), ',', ' ');
      points[id.substr(6, id.size() - 7)] = svg::numbers(at.substr(1));
    }
    double y = -1, x = -1;
    for (const std::string& wire : way) {
      CAPTURE(wire);
      REQUIRE(points[wire].size() == 8);
      if (y < 0) y = points[wire][1];
      for (std::size_t i = 1; i < 8; i += 2) CHECK(points[wire][i] == doctest::Approx(y).epsilon(0.001));
      CHECK(std::min(points[wire][0], points[wire][6]) >= x);  // from left to right
      x = std::max(points[wire][0], points[wire][6]);
    }
  }
}

TEST_CASE("a contact is drawn as it is at rest: what is closed then lies against its stop") {
  const Loom loom = shown_loom("rest.yaml");
  const DrawResult drawn = loomproof::draw(loomproof::dot_text({loom, nullptr, {}}), DrawFormat::svg);
  REQUIRE_MESSAGE(drawn.outcome == DrawOutcome::drawn, drawn.error);
  const auto blades = blades_of(drawn.bytes);
  CHECK(blades.size() == loom.parts.size());
  for (const auto& [part, counted] : blades) {
    CAPTURE(part);
    const bool two = part.ends_with("_both") || part.ends_with("_brake");
    CHECK(counted.first == (two ? 2 : 1));
    CHECK(counted.second == (part.starts_with("open") ? 0 : part.starts_with("half") ? 1 : counted.first));
  }
  CHECK(drawn.bytes.find("contacts at rest") != std::string::npos);
}

TEST_CASE("no text touches the circle of a lamp or the box of a fuse") {
  const auto read = loomproof::read_loom(texts::of_file(SOURCE_ROOT + "/netlists/orchard-cart.yaml"), "cart");
  REQUIRE(read.loom);
  const DrawResult drawn = loomproof::draw(loomproof::dot_text({*read.loom, nullptr, {}}), DrawFormat::svg);
  REQUIRE_MESSAGE(drawn.outcome == DrawOutcome::drawn, drawn.error);
  std::vector<svg::Box> symbols;
  // A lamp is a circle of 5 units, a fuse a box of 20 by 7 (src/show/diagram_symbols.cpp); a pen of 1.1.
  const std::regex circle("<ellipse [^>]*cx=\"([-0-9.]+)\" cy=\"([-0-9.]+)\" rx=\"5(?:\\.00)?\"");
  for (std::sregex_iterator at(drawn.bytes.begin(), drawn.bytes.end(), circle), end; at != end; ++at) {
    const double x = std::stod((*at)[1]), y = std::stod((*at)[2]);
    symbols.push_back({x - 5.5, y - 5.5, x + 5.5, y + 5.5});
  }
  const std::size_t lamps = symbols.size();
  const std::regex shape("<polygon [^>]*points=\"([^\"]*)\"");
  for (std::sregex_iterator at(drawn.bytes.begin(), drawn.bytes.end(), shape), end; at != end; ++at) {
    svg::Box box;
    const std::vector<double> n = svg::numbers((*at)[1]);
    for (std::size_t i = 0; i + 1 < n.size(); i += 2) box.take(n[i], n[i + 1]);
    if (std::abs(box.right - box.left - 20) < 0.1 && std::abs(box.bottom - box.top - 7) < 0.1)
      symbols.push_back(box.grown(0.5));
  }
  CHECK(lamps >= 5);
  CHECK(symbols.size() > lamps + 5);
  for (const svg::Text& text : svg::read(drawn.bytes).texts) {
    for (const svg::Box& symbol : symbols) CHECK_MESSAGE(!text.box.meets(symbol), text.content);
  }
}
