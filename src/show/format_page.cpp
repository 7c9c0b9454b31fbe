// Words for the reader's keys; all else comes from the catalogue.
#include "show/format_page.h"

#include <algorithm>
#include <map>
#include <stdexcept>
#include <string_view>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "model/kind.h"
#include "read/keys.h"
#include "read/read.h"
#include "show/primitive_page.h"

namespace loomproof {
namespace {

// A key, how it is written, what it says.
struct Words {
  std::string_view key, written, says;
};

constexpr std::string_view head = R"(# The input, key by key

One YAML file describes one vehicle. This page is printed by `loomproof schema --format markdown`; the same for an editor that
completes and marks keys is `loomproof schema` ([editors.md](editors.md)).

- **Quantities carry their unit**: `10 A`, `48 V`, `1.2 mohm`, `0.5 m`, `20 in`, `2.5 mm2`, `14 AWG`, `2/0 AWG`, `60 degC`,
  `140 degF`, `5 s`, `2 min`, with the SI prefixes `m`, `u`, `n`, `k`, `M`. A bare number is an error where a unit is due;
  shares may be `0.9` or `90 %`, numbers of pieces are bare.
- **What you do not know you leave out.** Where the page names an assumed value, that is taken, and it is the more demanding
  one; elsewhere what depends on it is *undecided*, never passed.
- **A terminal** is `part.terminal`; `splice` and `frame` take any name after the dot.
)";

const std::vector<Words> file_words{
    {"loom", "`1`", "version of the format; needed"},
    {"vehicle", "map", "what is printed on the papers"},
    {"conditions", "map", "surroundings of the whole vehicle"},
    {"kinds", "map of kinds", "kinds of parts of your own, built like those below"},
    {"parts", "map of parts", "each `name: {is: kind, ...}`; needed"},
    {"bundles", "map of bundles", "wires that lie together"},
    {"wires", "map of wires", "each from one terminal to another; needed"},
    {"duty", "map of duty points", "what is drawn when, and rides made of such points"},
    {"must", "map of requirements", "what shall always or never be, besides what follows from the parts"},
    {"waive", "list", "findings that you accept, each with its reason; they stay in the answer"},
};
const std::vector<Words> vehicle_words{{"name", "text", "of the vehicle"}};
const std::vector<Words> conditions_words{
    {"ambient", "`40 degC`", "hottest air round the wires, where a bundle does not say otherwise"},
    {"coldest", "`-10 degC`",
     "coldest start: shorts and surges at their largest meet copper this cold, and a fuse must still open for sure; "
     "20 degC where it is left out, and at most"},
};
const std::vector<Words> wire_words{
    {"from", "`part.terminal`", "one end; needed"},
    {"to", "`part.terminal`", "the other end; needed"},
    {"size", "`2.5 mm2`, `14 AWG`, `choose`", "cross-section; `choose` lets `loomproof size` find it"},
    {"length", "`0.6 m`, `24 in`", "as it is cut, along its way"},
    {"insulation", "`pvc-105`", "material and its temperature class; left out: the weakest is assumed"},
    {"colour", "`RD`, `RDBK`", "IEC 60757 letters, base and tracer"},
    {"in", "a bundle or a list", "bundles that it runs through"},
    {"volts", "`600 V`", "for which its insulation is rated"},
    {"sheathed", "`true`",
     "runs in a sheath or enclosure of its own, which allows a longer lead before the first device"},
};
const std::vector<Words> bundle_words{
    {"ambient", "`50 degC`", "air round this stretch"},
    {"sleeve", "`none`, `braided`, `corrugated`, `taped`", "what holds it together"},
};
const std::vector<Words> duty_words{
    {"for", "`10 s`", "how long it lasts at most; left out: for ever"},
    {"with", "`{key: on}`", "positions of switches in it; those not named stand in any"},
};
const std::vector<Words> must_words{
    {"when", "`{key: off}`", "positions of switches in which it shall hold"},
    {"never", "`drive.torque` or `{live: part.terminal}`",
     "an output that shall not be on, a terminal that shall be dead"},
    {"always", "the same", "an output that shall be on, a terminal that shall be live"},
};
const std::vector<Words> must_what_words{
    {"live", "`part.terminal`", "has voltage against the negative pole of its source"}};
const std::vector<Words> waiver_words{
    {"rule", "a rule's name", "which; needed"},
    {"subject", "a part or wire", "for which alone; left out: for all"},
    {"reason", "text", "why; needed"},
};
const std::vector<Words> kind_words{
    {"about", "text", "one line"},
    {"symbol", "`box`, `fuse`, `lamp`, ...", "how the diagram draws it"},
    {"any_terminal", "`true`", "every name is a terminal, and all are one point"},
    {"is_frame", "`true`", "that one point is the vehicle's frame"},
    {"repeat", "an attribute", "what `{n}` in names runs over: a number or a list of names"},
    {"repeat_from", "`0`", "first number of `{n}`"},
    {"positions", "`[off, on]`", "of an operated part, rest first"},
    {"positions_from", "an attribute", "that names the positions"},
    {"terminals", "list", "names, or maps with the keys below"},
    {"attributes", "map", "each with the keys below"},
    {"inside", "list", "primitives between the terminals, each `{primitive: name, argument: ...}`; see below"},
};
const std::vector<Words> terminal_words{
    {"name", "text", "may hold `{n}`"},
    {"optional", "`true`", "may stay without a wire"},
    {"inside", "`true`", "not reached by a wire"},
    {"on_mention", "`true`", "exists only where the file uses it"},
    {"about", "text", "one line"},
};
const std::vector<Words> attribute_words{
    {"is", "`current`, `current for time`, `voltage to voltage`, ...", "how it is written"},
    {"assume", "a value", "taken where the part does not say it"},
    {"source", "text", "where the assumed value comes from"},
    {"needed", "`true`", "its absence is an error"},
    {"about", "text", "one line"},
};

// A bar would end the cell.
std::string cell(std::string_view text) {
  std::string out;
  for (char c : text) out += c == '|' ? std::string("\\|") : std::string(1, c);
  return out;
}

std::string keys_table(std::string_view title, const keys::Words& known, const std::vector<Words>& words) {
  std::vector<std::string_view> told;
  for (const Words& w : words) told.push_back(w.key);
  if (!std::is_permutation(told.begin(), told.end(), known.begin(), known.end()))
    throw std::logic_error(fmt::format("the words of '{}' are not those of its keys", title));
  std::string out = fmt::format("\n## {}\n\n| key | written | says |\n| --- | --- | --- |\n", title);
  for (const Words& w : words) out += fmt::format("| `{}` | {} | {} |\n", w.key, cell(w.written), cell(w.says));
  return out;
}

// Of an attribute whose values are of another size than the dimension's usual example; by name, in every kind.
const std::vector<std::pair<std::string_view, std::string_view>> examples{
    {"battery_limit", "120 A"},
    {"bleed", "10 kohm"},
    {"blocks", "100 V"},
    {"brake_input.off_below", "4 V"},
    {"brake_input.max", "16 V"},
    {"brake_input.on_above", "8 V"},
    {"brake_input.pull", "10 kohm"},
    {"cell_empty", "2.5 V"},
    {"cell_full", "3.65 V"},
    {"cell_nominal", "3.2 V"},
    {"cell_resistance", "1.2 mohm"},
    {"closes_main_above", "55 V"},
    {"closes_main_after", "2 s"},
    {"closes_main_within", "3 V"},
    {"coil", "12 V 1 A"},
    {"coil_limit", "130 degC"},
    {"cut_off", "40 V"},
    {"drop_out", "1.2 V"},
    {"enable_input.max", "16 V"},
    {"inhibit_input.max", "16 V"},
    {"inrush", "10"},
    {"key_input.max", "16 V"},
    {"ohms", "47 ohm"},
    {"permit_input.max", "16 V"},
    {"phase_limit", "300 A"},
    {"pull_in", "9 V"},
    {"suppression_volts", "36 V"},
    {"throttle.full", "4.1 V"},
    {"gives", "0.9 V to 4.1 V"},
    {"works", "9 V to 16 V"},
    {"throttle.valid", "0.6 V to 4.4 V"},
    {"throttle.zero", "0.9 V"},
};

std::string_view example(Dimension dimension) {
  switch (dimension) {
    case Dimension::current:
      return "10 A";
    case Dimension::voltage:
      return "12 V";
    case Dimension::resistance:
      return "5 mohm";
    case Dimension::capacitance:
      return "2200 uF";
    case Dimension::power:
      return "15 W";
    case Dimension::energy:
      return "40 J";
    case Dimension::time:
      return "5 s";
    case Dimension::length:
      return "0.5 m";
    case Dimension::area:
      return "2.5 mm2";
    case Dimension::temperature:
      return "60 degC";
    case Dimension::charge:
      return "50 Ah";
    case Dimension::let_through:
      return "900 A2s";
    case Dimension::acceleration:
      return "1.5 m/s2";
    case Dimension::ratio:
      return "0.9";
    case Dimension::count:
      return "16";
  }
  return "";
}

/// One value as the reader takes it: the kind's own where it has one, else the name's, else the dimension's.
std::string_view example_of(const AttributeRule& rule) {
  if (!rule.assumed.empty()) return rule.assumed;
  const auto named =
      std::find_if(examples.begin(), examples.end(), [&](const auto& e) { return e.first == rule.name; });
  // `inrush` is a ratio in one kind and a current in another.
  const bool fits = named != examples.end() && (rule.dimension != Dimension::current || named->second.ends_with('A'));
  return fits ? named->second : example(rule.dimension);
}

std::string written(const AttributeRule& rule) {
  const std::string_view first = example_of(rule);
  const std::string_view second = rule.second ? example(*rule.second) : std::string_view();
  switch (rule.form) {
    case Form::magnitude:
      return fmt::format("`{}`", first);
    case Form::timed:
      return fmt::format("`{0}`, `{0} for 10 s`", first);
    case Form::at:
      return fmt::format("`{0}`, `{0} at {1}`", first, second);
    case Form::range:
      if (first.find(" to ") != std::string_view::npos) return fmt::format("`{}`", first);
      return rule.dimension == Dimension::voltage ? "`36 V to 75 V`" : fmt::format("`{0} to {0}`", first);
    case Form::pair:
      return first.find(' ') != first.rfind(' ') ? fmt::format("`{}`", first) : fmt::format("`{} {}`", first, second);
    case Form::choice:
      return fmt::format("`{}`", fmt::join(rule.choices, "`, `"));
    case Form::flag:
      return "`true`, `false`";
    case Form::names:
      return "`[off, on]`";
    case Form::text:
      return "text";
    case Form::curve:
      return "`[[135 %, 0.75 s, 600 s], ...]`: share of the rating, fastest, slowest";
  }
  return {};
}

std::string left_out(const AttributeRule& rule) {
  if (rule.needed) return "needed";
  if (rule.assumed.empty()) return "";
  return rule.source.empty() ? fmt::format("`{}`", rule.assumed) : fmt::format("`{}` ({})", rule.assumed, rule.source);
}

std::string terminals_of(const Kind& kind) {
  if (kind.any_terminal) return kind.is_frame ? "any name; all are the frame" : "any name; all are one point";
  std::string out;
  for (const TerminalRule& t : kind.terminals) {
    if (t.inside) continue;
    if (!out.empty()) out += ", ";
    out += fmt::format("`{}`", t.name);
    if (t.optional) out += " (may stay open)";
    if (t.on_mention) out += " (where the file uses it)";
  }
  return out;
}

std::string section_of(const Kind& kind) {
  std::string out = fmt::format("\n### {}\n\n{}.\n\nTerminals: {}.\n", kind.name, kind.about, terminals_of(kind));
  if (!kind.positions.empty())
    out += fmt::format("\nPositions: `{}`, the first at rest.\n", fmt::join(kind.positions, "`, `"));
  if (kind.attributes.empty()) return out;
  out += "\n| attribute | written | left out | about |\n| --- | --- | --- | --- |\n";
  for (const AttributeRule& rule : kind.attributes)
    out += fmt::format("| `{}` | {} | {} | {} |\n", rule.name, cell(written(rule)), cell(left_out(rule)),
                       cell(rule.about));
  return out;
}

}  // namespace

std::string format_page() {
  std::string out(head);
  out += keys_table("The file", keys::file, file_words);
  out += keys_table("`vehicle`", keys::vehicle, vehicle_words);
  out += keys_table("`conditions`", keys::conditions, conditions_words);
  out += keys_table("A wire", keys::wire, wire_words);
  out += keys_table("A bundle", keys::bundle, bundle_words);
  out += keys_table("A duty point", keys::duty_point, duty_words);
  out +=
      "\nBesides these `part.channel: 100 A`: what a controller draws from the battery (`battery`) or gives to the "
      "motor "
      "(`phase`), or\nwhat a part with such a channel draws. A list of names in place of the map is a ride: the points "
      "one "
      "after another, again and again.\n";
  out += keys_table("A requirement", keys::must, must_words);
  out += keys_table("`never` and `always` of a terminal", keys::must_what, must_what_words);
  out += keys_table("A waiver", keys::waiver, waiver_words);
  out += keys_table("A kind of your own", keys::kind, kind_words);
  out += keys_table("Its terminals", keys::terminal, terminal_words);
  out += keys_table("Its attributes", keys::attribute, attribute_words);
  out += primitives_section();
  out +=
      "\n## Kinds of parts\n\n\"Left out\": what is taken where the part does not say it, and where that comes from.\n";
  for (const std::string_view name : catalogue_names()) {
    const KindResult read = read_kind(find_catalogue_text(name));
    if (read.kind) out += section_of(*read.kind);
  }
  return out;
}

}  // namespace loomproof
