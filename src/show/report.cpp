// The page, its sections in the order in which a person needs them.
#include "show/report.h"

#include <array>

#include <fmt/format.h>

#include "show/report_colours.h"
#include "show/report_escape.h"
#include "show/report_sections.h"
#include "show/report_text.h"
#include "show/shown_zones.h"

namespace loomproof {
namespace report {
namespace {

// Base64 of bytes given in hexadecimal, as a content security policy wants its hashes.
std::string base64_of_hex(std::string_view hex) {
  constexpr std::string_view digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  const auto nibble = [](char c) { return static_cast<unsigned>(c <= '9' ? c - '0' : c - 'a' + 10); };
  std::string out;
  for (std::size_t i = 0; i < hex.size(); i += 6) {
    unsigned bits = 0;
    for (std::size_t j = 0; j < 6; ++j) bits = bits << 4 | (i + j < hex.size() ? nibble(hex[i + j]) : 0);
    const std::size_t left = std::min<std::size_t>(6, hex.size() - i) / 2;
    for (std::size_t j = 0; j < 4; ++j) out += j <= left ? digits[bits >> (18 - 6 * j) & 63] : '=';
  }
  return out;
}

struct Section {
  std::string_view id, title;
  std::string body;
};

std::string explorer_controls() {
  return "<div class=\"explorer scripted\"><p>Pick switches, charge, duty and a fault, and see what is live in the "
         "diagram and below. Only what was computed is shown. A wire called dead can still hold the charge of a "
         "capacitor, and the negative side of a pack is never safe to touch.</p><fieldset class=\"explore\" "
         "id=\"knobs\"><legend class=\"faint\">Situation</legend></fieldset><fieldset class=\"explore\" "
         "id=\"faultbox\" hidden><legend class=\"faint\">Single fault</legend><label>fault<select "
         "id=\"fault\"><option value=\"\">none</option></select></label><label id=\"storedlabel\" hidden>stored "
         "situations<select id=\"stored\"></select></label></fieldset><p class=\"tools\"><button type=\"button\" "
         "id=\"showrest\">Show this situation</button><button type=\"button\" id=\"clear\">Back to the plain "
         "diagram</button></p><p id=\"answer\" aria-live=\"polite\"></p><div id=\"lists\" hidden><h3 "
         "id=\"statehead\">Contacts and outputs</h3><ul class=\"seenlive\" id=\"statelist\"></ul><h3>Live "
         "wires</h3><ul class=\"seenlive\" id=\"livelist\"></ul></div></div>";
}

std::string head(const Loom& loom) {
  const std::string title = loom.vehicle.empty() ? "Wiring report" : html(loom.vehicle);
  return fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta "
      "http-equiv=\"Content-Security-Policy\" "
      "content=\"default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-{}'; base-uri 'none'; form-action "
      "'none'\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{}: wiring "
      "report</title>\n<style>\n{}{}</style>\n</head>\n",
      base64_of_hex(page_script_hash), title, colour_rules(), page_style);
}

std::string title_block(const Story& story, std::string_view file_mark) {
  return fmt::format(
      "<h1>{}</h1><dl class=\"block\"><div><dt>document</dt><dd>Wiring report</dd></div><div><dt>computed "
      "from</dt><dd>{}{}</dd></div><div><dt>program</dt><dd>loomproof {}</dd></div></dl>",
      story.loom.vehicle.empty() ? "Wiring report" : html(story.loom.vehicle), html(story.loom.file),
      file_mark.empty() ? "" : "<br>" + html(file_mark), LOOMPROOF_VERSION);
}

}  // namespace
}  // namespace report

std::string report_of(const Solved& solved, const Judgement& judgement, std::string_view diagram_svg,
                      std::string_view file_mark) {
  using namespace report;
  const Story story{solved, *solved.loom, judgement, judgement.findings(), shown_zones(solved)};
  const std::array sections{
      Section{"findings", "What is broken", findings(story)},
      Section{"undecided", "What is undecided", undecided(story)},
      Section{"diagram", "Diagram and situations", drawing(story, diagram_svg) + explorer_controls()},
      Section{"wires", "Every wire", wire_table(story)},
      Section{"closest", "Closest calls", closest_calls(story)},
      Section{"fuses", "Fuses and the wires behind them", fuse_charts(story)},
      Section{"heat", "Temperature over the ride", heat_charts(story)},
      Section{"precharge", "Precharge", precharge_charts(story)},
      Section{"loads", "Voltage at each load", load_volts(story)},
      Section{"basis", "What this rests on", small_print(story)},
  };
  std::string out = head(story.loom);
  out += "<body>\n<a class=\"skip\" href=\"#findings\">To the findings</a>\n<header>" + title_block(story, file_mark) +
         "</header>\n<main>\n";
  out += "<section aria-label=\"Summary\">" + summary(story) + "</section>\n" + cautions() + "\n";
  out += "<nav aria-label=\"Contents\"><ul>";
  for (const Section& s : sections) out += fmt::format("<li><a href=\"#{}\">{}</a></li>", s.id, s.title);
  out += "</ul></nav>\n";
  for (const Section& s : sections) {
    out +=
        fmt::format("<section aria-labelledby=\"{0}\"><h2 id=\"{0}\">{1}</h2>\n{2}</section>\n", s.id, s.title, s.body);
  }
  out += fmt::format(
      "</main>\n<script type=\"application/json\" id=\"data\">{}</script>\n<script>{}</script>\n</body>\n</html>\n",
      for_script(script_data(story)), page_script);
  return out;
}

}  // namespace loomproof
