// A paper as one self-contained page for A4: no network, no script, every text escaped.
#include <algorithm>

#include <fmt/format.h>

#include "show/paper.h"
#include "show/wash.h"

namespace loomproof {
namespace {

// Black on white: it is made for a laser printer and a pen. Meaning never rests on tint alone.
constexpr std::string_view style = R"(
@page { size: A4 portrait; margin: 12mm 11mm 14mm; }
* { box-sizing: border-box; }
html { color: #111; background: #fff; font: 10pt/1.35 "Liberation Sans", Arial, Helvetica, sans-serif; }
body { max-width: 188mm; margin: 0 auto; padding: 4mm 0; }
body.wide { max-width: 275mm; }
header { border-bottom: 1.2pt solid #111; padding-bottom: 2mm; margin-bottom: 3mm; }
h1 { font-size: 17pt; line-height: 1.15; margin: 0 0 1mm; }
header p { margin: 0; color: #333; overflow-wrap: anywhere; }
h2 { font-size: 12pt; margin: 6mm 0 1.5mm; break-after: avoid; overflow-wrap: anywhere; }
.danger { border: 1.6pt solid #111; border-left-width: 5pt; padding: 2mm 3.5mm; margin: 0 0 4mm; break-inside: avoid; }
.danger h2 { margin: 0 0 1mm; }
ul, ol { margin: 0; padding-left: 5mm; }
li { margin: 0 0 0.6mm; overflow-wrap: anywhere; }
.lines { margin: 0 0 2mm; break-after: avoid; }
table { width: 100%; border-collapse: collapse; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th { text-align: left; vertical-align: bottom; font-size: 8pt; line-height: 1.15; color: #333; }
th, td { padding: 1mm 1.2mm; border-bottom: 0.5pt solid #aaa; }
th:first-child, td:first-child { padding-left: 0; }
th.r, td.r { padding-right: 3mm; }
td.nb { white-space: nowrap; }
td { vertical-align: top; overflow-wrap: anywhere; font-size: 9pt; line-height: 1.25; }
th { border-bottom: 1pt solid #111; }
.r { text-align: right; font-variant-numeric: tabular-nums; }
td.key { font-weight: bold; overflow-wrap: normal; white-space: nowrap; }
td.key.long { white-space: normal; overflow-wrap: anywhere; }
tr.step td { font-weight: bold; border-bottom: 0.8pt solid #111; padding-top: 2.5mm; }
tr.step { break-after: avoid; }
td.blank { background: linear-gradient(#fff, #fff) content-box; border: 0.6pt solid #555; min-width: 14mm; height: 6.4mm; }
.stop { margin: 2mm 0 0; padding: 1.2mm 2.5mm; border: 1pt solid #111; font-weight: bold; break-inside: avoid;
  overflow-wrap: anywhere; }
.none { color: #333; font-style: italic; }
footer { margin-top: 6mm; border-top: 0.5pt solid #888; padding-top: 2mm; font-size: 8.5pt; color: #222; }
footer h2 { font-size: 9.5pt; margin: 0 0 1mm; }
@media screen { body { padding: 6mm; } }
@media print { body, body.wide { max-width: none; padding: 0 0.6mm 0 0; } }
@media screen and (max-width: 700px) { body { overflow-x: auto; } }
)";

constexpr std::size_t short_text = 12;  // characters up to which a cell keeps to one line
constexpr std::size_t long_key = 14;    // characters from which the first column may break

std::string list_of(const std::vector<std::string>& lines) {
  std::string out = "<ul>\n";
  for (const std::string& line : lines) out += fmt::format("<li>{}</li>\n", html_escaped(line));
  return out + "</ul>\n";
}

std::string cell_of(const PaperColumn& column, const std::string& text, bool is_key) {
  std::string classes;
  if (is_key) classes += text.size() > long_key ? " key long" : " key";
  if (column.right) classes += " r";
  if (!is_key && !text.empty() && text.size() <= short_text) classes += " nb";
  if (column.fill) classes += text.empty() ? " pen blank" : " pen";
  const std::string attribute = classes.empty() ? "" : fmt::format(" class=\"{}\"", classes.substr(1));
  return fmt::format("<td{}>{}</td>", attribute, html_escaped(text));
}

std::string table_of(const Paper& paper, const PaperSection& section) {
  std::string out = "<table>\n<thead><tr>";
  for (const PaperColumn& column : paper.columns) {
    const char* classes = column.right ? " class=\"r\"" : column.fill ? " class=\"pen\"" : "";
    out += fmt::format("<th scope=\"col\"{}>{}</th>", classes, html_escaped(column.title));
  }
  out += "</tr></thead>\n<tbody>\n";
  for (const auto& row : section.rows) {
    // A row of nothing but its number and a text is a step that the next rows belong to.
    if (row.size() > 2 && std::all_of(row.begin() + 2, row.end(), [](const std::string& s) { return s.empty(); }) &&
        !row[1].empty() && paper.columns[1].leads) {
      out += fmt::format("<tr class=\"step\"><td class=\"key\">{}</td><td colspan=\"{}\">{}</td></tr>\n",
                         html_escaped(row[0]), row.size() - 1, html_escaped(row[1]));
      continue;
    }
    out += "<tr>";
    for (std::size_t i = 0; i < row.size(); ++i) out += cell_of(paper.columns[i], row[i], i == 0);
    out += "</tr>\n";
  }
  return out + "</tbody>\n</table>\n";
}

std::string section_of(const Paper& paper, const PaperSection& section) {
  std::string out = "<section>\n";
  if (!section.heading.empty()) out += fmt::format("<h2>{}</h2>\n", html_escaped(section.heading));
  if (!section.lines.empty()) out += "<div class=\"lines\">\n" + list_of(section.lines) + "</div>\n";
  if (!section.rows.empty()) out += table_of(paper, section);
  if (section.rows.empty() && section.lines.empty()) out += "<p class=\"none\">Nothing of this kind in the file.</p>\n";
  if (!section.stop.empty()) out += fmt::format("<p class=\"stop\">STOP: {}</p>\n", html_escaped(section.stop));
  return out + "</section>\n";
}

/// A page that lies alone on the bench says it too: CSS Paged Media, margin box. No name of the user stands in it.
std::string foot_style(const std::string& foot) {
  return fmt::format(
      "@page {{ @bottom-left {{ content: \"DANGER: {}\"; width: 100%; white-space: nowrap; font: bold 7.5pt "
      "\"Liberation "
      "Sans\", "
      "Arial, Helvetica, sans-serif; }} }}\n",
      foot);
}

}  // namespace

std::string html_escaped(std::string_view text) {
  std::string out;
  for (const Glyph& glyph : glyphs_of(text)) {
    if (glyph.text == "&") {
      out += "&amp;";
    } else if (glyph.text == "<") {
      out += "&lt;";
    } else if (glyph.text == ">") {
      out += "&gt;";
    } else if (glyph.text == "\"") {
      out += "&quot;";
    } else if (glyph.text == "'") {
      out += "&#39;";
    } else {
      out += glyph.text;
    }
  }
  return out;
}

std::string paper_html(const Paper& paper, const Loom& loom, std::string_view file_mark) {
  const std::string vehicle = loom.vehicle.empty() ? "vehicle without a name" : loom.vehicle;
  std::string out = "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
  out += "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n";
  out += fmt::format("<title>{}: {}</title>\n<style>{}", html_escaped(paper.title), html_escaped(vehicle), style);
  if (paper.landscape) out += "@page { size: A4 landscape; }\n";
  if (!paper.foot.empty()) out += foot_style(paper.foot);
  out +=
      fmt::format("</style>\n</head>\n<body{}>\n<header>\n<h1>{}</h1>\n<p>{} | from {}{} | {} wires</p>\n</header>\n",
                  paper.landscape ? " class=\"wide\"" : "", html_escaped(paper.title), html_escaped(vehicle),
                  html_escaped(loom.file), file_mark.empty() ? "" : fmt::format(" ({})", html_escaped(file_mark)),
                  loom.wires.size());
  if (!paper.cautions.empty()) {
    out += "<div class=\"danger\" role=\"note\">\n<h2>DANGER: read before touching anything</h2>\n";
    out += list_of(paper.cautions) + "</div>\n";
  }
  for (const PaperSection& section : paper.sections) out += section_of(paper, section);
  if (!paper.notes.empty())
    out += "<footer>\n<h2>What these figures rest on</h2>\n" + list_of(paper.notes) + "</footer>\n";
  return out + "</body>\n</html>\n";
}

}  // namespace loomproof
