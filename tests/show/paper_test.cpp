// Papers: CSV and HTML that nothing breaks out of, sums that are the model's, every wire end once.
#include "show/paper.h"

#include <cmath>
#include <map>
#include <set>

#include "show/caution.h"
#include "show/fuse_use.h"
#include "show/paper_demos.h"
#include "show/sample.h"
#include "units/print.h"

using namespace loomproof;
using papers_test::demos;
using papers_test::rows_of;

namespace {

Paper paper_with(const std::string& cell) {
  Paper paper;
  paper.slug = "x";
  paper.title = cell;
  paper.cautions = {cell};
  paper.notes = {cell};
  paper.columns = {{cell}, {"b"}};
  paper.sections.push_back({cell, {cell}, {{cell, "1"}}, cell});
  return paper;
}

std::size_t column_of(const std::vector<std::string>& header, const std::string& name) {
  const auto at = std::find(header.begin(), header.end(), name);
  REQUIRE_MESSAGE(at != header.end(), name);
  return static_cast<std::size_t>(at - header.begin());
}

double sum_of(const std::string& csv, const std::string& name) {
  const auto rows = rows_of(csv);
  const std::size_t column = column_of(rows.front(), name);
  double sum = 0;
  for (std::size_t i = 1; i < rows.size(); ++i) sum += std::strtod(rows[i][column].c_str(), nullptr);
  return sum;
}

double model_mm(const Loom& loom) {
  double sum = 0;
  for (const Wire& wire : loom.wires) sum += wire.length ? wire.length->value.value * 1000 : 0;
  return sum;
}

}  // namespace

TEST_CASE("CSV: a field with comma, quote or line break is quoted, quotes doubled, lines end CR LF (RFC 4180)") {
  Paper paper;
  paper.columns = {{"a"}, {"b"}};
  paper.sections.push_back({"", {}, {{"x,y", "say \"hi\""}, {"two\nlines", "plain"}}, ""});
  CHECK(paper_csv(paper) == "a,b\r\n\"x,y\",\"say \"\"hi\"\"\"\r\n\"two\nlines\",plain\r\n");
  const auto rows = rows_of(paper_csv(paper));
  REQUIRE(rows.size() == 3);
  CHECK(rows[1] == std::vector<std::string>{"x,y", "say \"hi\""});
  CHECK(rows[2][0] == "two\nlines");
}

TEST_CASE("CSV: what a spreadsheet would run gets an apostrophe, a number does not") {
  for (const char* runs : {"=1+1", "+cmd", "-2+3", "@SUM(A1)", "=HYPERLINK(\"x\")", "\tx", "-inf", "--1", "+1-1"}) {
    CAPTURE(runs);
    const auto rows = rows_of(paper_csv(paper_with(runs)));
    REQUIRE(rows.size() == 2);
    for (const auto& row : rows) {
      for (const std::string& field : row) CHECK_FALSE(field.find_first_of("=+-@\t") == 0);
    }
    CHECK(rows[1][0] == std::string("'") + runs);
  }
  for (const char* number : {"-12", "-0.5", "+3", "12.25"}) {
    CHECK(rows_of(paper_csv(paper_with(number)))[1][0] == number);
  }
  CHECK(rows_of(paper_csv(paper_with("a=1")))[1][0] == "a=1");
}

TEST_CASE("HTML: a hostile name stays text in every place of a page") {
  const std::string evil = "<script>alert(1)</script>\"'&<img src=x onerror=y>";
  Loom loom;
  loom.vehicle = loom.file = evil;
  for (const std::string& name : {evil, sample::hostile}) {
    loom.vehicle = loom.file = name;
    const std::string page = paper_html(paper_with(name), loom);
    CHECK(page.find("<script") == std::string::npos);
    CHECK(page.find("<img") == std::string::npos);
    CHECK(page.find("<b>") == std::string::npos);
    CHECK(page.find('\x1b') == std::string::npos);
    CHECK(page.find("http") == std::string::npos);
  }
  CHECK(html_escaped("<a b=\"c\">&'") == "&lt;a b=&quot;c&quot;&gt;&amp;&#39;");
}

TEST_CASE("all demos: cut list and materials sum up to the lengths of the model") {
  for (const auto& demo : demos()) {
    CAPTURE(demo->name);
    const Loom& loom = *demo->solved.loom;
    const double expected = model_mm(loom);
    const std::string cut = paper_csv(cut_list(demo->solved, {}));
    CHECK(rows_of(cut).size() == loom.wires.size() + 1);
    CHECK(sum_of(cut, "length mm") == doctest::Approx(expected).epsilon(1e-9));
    CHECK(sum_of(cut, "cut mm") == doctest::Approx(expected).epsilon(1e-9));
    const std::string materials_csv = paper_csv(materials(demo->solved, {}));
    CHECK(sum_of(materials_csv, "length mm") == doctest::Approx(expected).epsilon(1e-9));
    CHECK(sum_of(materials_csv, "wires") == loom.wires.size());
    const Slack slack{Metre(0.03), 0.05, "30 mm and 5 %"};
    const double longer = 1.05 * expected + 30.0 * static_cast<double>(loom.wires.size());
    CHECK(sum_of(paper_csv(cut_list(demo->solved, slack)), "cut mm") == doctest::Approx(longer).epsilon(1e-6));
    CHECK(sum_of(paper_csv(cut_list(demo->solved, slack)), "length mm") == doctest::Approx(expected).epsilon(1e-9));
    CHECK(sum_of(paper_csv(materials(demo->solved, slack)), "cut mm") == doctest::Approx(longer).epsilon(1e-6));
  }
}

TEST_CASE("all demos: every wire end stands once in the terminations and once in the labels") {
  for (const auto& demo : demos()) {
    CAPTURE(demo->name);
    const Loom& loom = *demo->solved.loom;
    std::multiset<std::vector<std::string>> wanted;
    for (const Wire& wire : loom.wires) {
      wanted.insert({wire.name, "from", loom.title(wire.from)});
      wanted.insert({wire.name, "to", loom.title(wire.to)});
    }
    for (const auto& [paper, place] : {std::pair{terminations(demo->solved), "at"}, {labels(demo->solved), "here"}}) {
      CAPTURE(paper.slug);
      const auto rows = rows_of(paper_csv(paper));
      const auto at = column_of(rows.front(), place), wire = column_of(rows.front(), "wire"),
                 end = column_of(rows.front(), "end");
      std::multiset<std::vector<std::string>> found;
      for (std::size_t i = 1; i < rows.size(); ++i) found.insert({rows[i][wire], rows[i][end], rows[i][at]});
      CHECK(found == wanted);
    }
  }
}

TEST_CASE("all demos: connector tables hold every wire of a connector on its own side") {
  for (const auto& demo : demos()) {
    CAPTURE(demo->name);
    const Loom& loom = *demo->solved.loom;
    std::size_t ends = 0, shown = 0;
    for (const Wire& wire : loom.wires) {
      for (TerminalIndex t : {wire.from, wire.to}) {
        ends += loom.kind_of(loom.part(loom.terminal(t).part)).symbol == "connector" ? 1 : 0;
      }
    }
    for (const PaperSection& section : pin_tables(demo->solved).sections) {
      for (const auto& row : section.rows) {
        for (const auto& [column, side] : {std::pair{1, "p"}, {5, "s"}}) {
          if (row[static_cast<std::size_t>(column)].starts_with("empty")) continue;
          ++shown;
          const auto wire = std::find_if(loom.wires.begin(), loom.wires.end(), [&](const Wire& w) {
            return w.name == row[static_cast<std::size_t>(column)];
          });
          REQUIRE(wire != loom.wires.end());
          const std::string here = section.heading + "." + side + row[0];
          CHECK((loom.title(wire->from) == here || loom.title(wire->to) == here));
        }
      }
    }
    CHECK(shown == ends);
  }
}

TEST_CASE("all demos: the same input gives the same bytes, and the names of the files are fixed") {
  for (const auto& demo : demos()) {
    CAPTURE(demo->name);
    const Solved again = solve(*demo->read.loom);
    const auto first = papers_of(demo->solved, judge(demo->solved), {}), second = papers_of(again, judge(again), {});
    REQUIRE(first.size() == 14);
    REQUIRE(first.size() == second.size());
    for (std::size_t i = 0; i < first.size(); ++i) {
      CHECK(first[i].name == second[i].name);
      CHECK(first[i].bytes == second[i].bytes);
      // A loom may have no connector; every other paper has rows.
      if (first[i].name.ends_with(".csv") && first[i].name != "connector-pins.csv")
        CHECK(rows_of(first[i].bytes).size() > 1);
    }
  }
}

TEST_CASE(
    "what the file does not say is not invented: no strip length, and a lug and stud only where it gives the stud") {
  for (const auto& demo : demos()) {
    const Loom& loom = *demo->solved.loom;
    const Paper cut = cut_list(demo->solved, {});
    for (std::size_t c = 0; c < cut.columns.size(); ++c) {
      if (!cut.columns[c].title.starts_with("strip")) continue;
      CHECK(cut.columns[c].fill);
      for (const auto& row : cut.sections.front().rows) CHECK(row[c].empty());
    }
    const auto rows = rows_of(paper_csv(terminations(demo->solved)));
    const auto at = column_of(rows.front(), "at"), lug = column_of(rows.front(), "lug or contact"),
               stud = column_of(rows.front(), "stud or pin");
    for (std::size_t i = 1; i < rows.size(); ++i) {
      CAPTURE(rows[i][at]);
      const Part& part = loom.part(*loom.find_part(rows[i][at].substr(0, rows[i][at].find('.'))));
      const std::string terminal = rows[i][at].substr(rows[i][at].find('.') + 1);
      const auto given = part.text("stud." + terminal) ? part.text("stud." + terminal) : part.text("stud");
      const bool splice = loom.kind_of(part).any_terminal && !loom.kind_of(part).is_frame;
      CHECK(rows[i][stud] == (splice ? "none" : given.value_or("measure")));
      CHECK(rows[i][lug].empty() == (!given || splice));
    }
  }
}

TEST_CASE(
    "terminations: a stud for a whole part and one for a terminal alone; the shrink goes below the cable's diameter") {
  ReadResult read = read_loom(R"(loom: 1
parts:
  pack: {is: pack, chemistry: lfp, series: 16, stud: {pos: M8, neg: M10}}
  lamp: {is: lamp, watts: 5 W, volts: 48 V, stud: tab 6.3 mm}
  frame: {is: frame}
wires:
  A: {from: pack.pos, to: lamp.a, size: 2.5 mm2, length: 1 m}
  B: {from: lamp.b, to: pack.neg, size: 2.5 mm2, length: 1 m}
  C: {from: frame.post, to: lamp.b, size: 2.5 mm2, length: 1 m}
)",
                              "studs.yaml");
  REQUIRE(read.loom);
  const Solved solved = solve(*read.loom);
  std::map<std::string, std::vector<std::string>> found;
  const auto rows = rows_of(paper_csv(terminations(solved)));
  const auto column = [&](const char* title) { return column_of(rows.front(), title); };
  for (const auto& row : rows)
    found[row[column("at")] + " " + row[column("wire")]] = {row[column("lug or contact")], row[column("stud or pin")]};
  CHECK(found["pack.pos A"] == std::vector<std::string>{"ring, 2.5 mm2, M8", "M8"});
  CHECK(found["pack.neg B"] == std::vector<std::string>{"ring, 2.5 mm2, M10", "M10"});
  CHECK(found["lamp.a A"] == std::vector<std::string>{"", "tab 6.3 mm"});
  CHECK(found["frame.post C"] == std::vector<std::string>{"", "measure"});
  // ISO 6722-1, thin wall: 2.5 mm2 is at most 3.0 mm over its insulation.
  CHECK(rows[1][column("over cable mm")] == "3.0");
  CHECK(rows[1][column("heat shrink")] == "to below 3.0 mm");
}

TEST_CASE("every page carries the mark of its file, and no mark where none is given") {
  const auto& all = demos();
  const auto& demo = all.front();
  for (const PaperFile& file : papers_of(demo->solved, judge(demo->solved), {}, "CRC-32 cbf43926")) {
    if (file.name.ends_with(".html")) CHECK(file.bytes.find("(CRC-32 cbf43926)") < file.bytes.find("<table"));
  }
  for (const PaperFile& file : papers_of(demo->solved, judge(demo->solved), {}))
    CHECK(file.bytes.find("CRC-32") == std::string::npos);
}

namespace {

constexpr const char* shock = "Above 60 V DC a touch can kill";

std::map<std::string, std::string> files_of(const Solved& solved) {
  std::map<std::string, std::string> out;
  for (const PaperFile& file : papers_of(solved, judge(solved), {})) out[file.name] = file.bytes;
  return out;
}

}  // namespace

// A sheet goes to the bench by itself: each says it above its first table, and under every page that is printed.
TEST_CASE("every page has its caution, with the shock where a circuit is above 60 V DC; no CSV has any") {
  for (const auto& demo : demos()) {
    CAPTURE(demo->name);
    const std::string line = html_escaped(sheet_caution(demo->solved));
    const bool above = demo->name == "marshals-quad";  // 24 x 4.2 V; the others: 16 x 3.65 V, 13 x 4.2 V
    CHECK((line.find(shock) != std::string::npos) == above);
    for (const auto& [name, bytes] : files_of(demo->solved)) {
      CAPTURE(name);
      CHECK((bytes.find("DANGER: read before touching anything") != std::string::npos) == name.ends_with(".html"));
      if (name.ends_with(".csv")) {
        for (const char* word : {"stay charged", "touch can kill", "Local codes"})
          CHECK(bytes.find(word) == std::string::npos);
        continue;
      }
      CHECK(bytes.find("@page { @bottom-left { content: \"DANGER: " + line + "\";") < bytes.find("</style>"));
      const std::string head = bytes.substr(bytes.find("<body"), bytes.find("<table") - bytes.find("<body"));
      CHECK(head.find(name == "test-sheet.html" ? "Stored energy in the pack" : line) != std::string::npos);
      CHECK((head.find(shock) != std::string::npos) == above);
      CHECK(head.find("Local codes") != std::string::npos);
    }
  }
}

TEST_CASE("packs in series count together: shock, labels and isolation; a voltage that nobody tells counts as above") {
  const std::string folder = std::string(TESTS_DIR) + "/rules/orange-cable/";
  // Two packs of 12 x 4.2 V: 100.8 V; each alone is below the limit.
  const auto series = papers_test::solved_from("two-in-series", papers_test::text_of(folder + "two-in-series.yaml"));
  const auto files = files_of(series->solved);
  CHECK(sheet_caution(series->solved).find(shock) != std::string::npos);
  CHECK(files.at("test-sheet.html").find("101 V with the pack full. Above 60 V DC") != std::string::npos);
  CHECK(files.at("test-sheet.csv").find("at least 10.1 kohm") != std::string::npos);  // 100 ohm/V
  CHECK(files.at("labels.csv").find("W1 pack.pos > fuse.a DANGER above 60 V") != std::string::npos);
  const auto untold = papers_test::solved_from("untold", R"(loom: 1
kinds:
  bank: {about: bank of cells, terminals: [pos, neg], attributes: {volts: {is: voltage}},
         inside: [{source: cells, pos: pos, neg: neg, full: volts, zone: traction}]}
parts:
  pack: {is: bank}
  lamp: {is: lamp, watts: 5 W, volts: 48 V}
wires:
  A: {from: pack.pos, to: lamp.a, size: 2.5 mm2, length: 1 m}
  B: {from: lamp.b, to: pack.neg, size: 2.5 mm2, length: 1 m}
)");
  CHECK(sheet_caution(untold->solved).find(shock) != std::string::npos);
  const auto unknown = files_of(untold->solved);
  CHECK(unknown.at("test-sheet.html").find("Above 60 V DC a touch can kill") != std::string::npos);
  CHECK(unknown.at("test-sheet.csv").find("at least 100 ohm for every volt of the full pack") != std::string::npos);
  CHECK(unknown.at("test-sheet.csv").find("at least 0 ohm") == std::string::npos);
  CHECK(unknown.at("labels.csv").find("DANGER voltage not told") != std::string::npos);
}

TEST_CASE("fuse schedule: a precharge fuse is told with the first current of the precharge, not with its rest") {
  // 16 x 3.65 V = 58.4 V over 47 ohm: 1.243 A; 13 x 4.2 V = 54.6 V over 47 ohm: 1.162 A (leads below 0.1 % of it).
  for (const auto& [name, expected] : {std::pair{"orchard-cart", "1.24 A at the start of precharge"},
                                       std::pair{"parcel-trike", "1.16 A at the start of precharge"}}) {
    const auto& all = demos();
    const auto demo = std::find_if(all.begin(), all.end(), [&](const auto& d) { return d->name == name; });
    REQUIRE(demo != all.end());
    const auto rows = rows_of(paper_csv(fuse_schedule((*demo)->solved)));
    const auto most = column_of(rows.front(), "most A in use");
    std::size_t precharge = 0;
    for (const auto& row : rows) {
      if (row[0] == "pre_fuse") CHECK(row[most] == expected);
      // The pack's fuse is on the same way, and carries more in use than that.
      if (row[0] == "pack_fuse") CHECK(std::strtod(row[most].c_str(), nullptr) > 2);
      precharge += row[most].find("precharge") != std::string::npos ? 1 : 0;
    }
    CHECK(precharge == 1);
    // So are the wires of that way, on the report's table.
    const Loom& loom = *(*demo)->solved.loom;
    const auto wire = std::find_if(loom.wires.begin(), loom.wires.end(), [](const Wire& w) { return w.name == "P2"; });
    REQUIRE(wire != loom.wires.end());
    const FuseUse use = most_in_use((*demo)->solved, WireIndex{static_cast<std::size_t>(wire - loom.wires.begin())});
    CHECK(use.precharge);
    CHECK(show(use.most) + " at the start of precharge" == expected);
  }
}
