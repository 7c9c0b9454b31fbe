// Everything about the two ends of a wire: terminations, labels, connector pins.
#include <algorithm>
#include <map>
#include <optional>

#include <fmt/format.h>

#include "show/caution.h"
#include "show/fuse_use.h"
#include "show/paper.h"
#include "show/shown_zones.h"
#include "show/stud_names.h"
#include "units/conductor.h"
#include "units/print.h"

namespace loomproof {
namespace {

std::string zone_text(Zone zone) {
  switch (zone) {
    case Zone::traction:
      return "traction";
    case Zone::low_voltage:
      return "12 V";
    case Zone::signal:
      return "signal";
    case Zone::none:
      break;
  }
  return "";
}

std::string diameter(double mm) {
  return fmt::format("{:.1f}", mm);
}

// What the kind of the part says about the joint; the rest is for the builder to write in.
std::string joint_of(const Loom& loom, TerminalIndex t) {
  const Part& part = loom.part(loom.terminal(t).part);
  const Kind& kind = loom.kind_of(part);
  if (kind.is_frame) return "ring lug on a frame stud, bare metal";
  if (kind.any_terminal) return "splice";
  if (kind.symbol == "connector") return loom.terminal(t).name.starts_with('p') ? "plug contact" : "socket contact";
  return "";
}

// Stud, tab or pin as the file gives it, for the terminal or for the whole part.
std::optional<std::string> stud_of(const Loom& loom, TerminalIndex t) {
  const Part& part = loom.part(loom.terminal(t).part);
  if (const auto own = part.text("stud." + loom.terminal(t).name)) return own;
  return part.text("stud");
}

// A ring lug follows from the wire and the stud; a contact does not.
std::string lug_of(const Wire& wire, const std::optional<std::string>& stud) {
  const bool is_stud = stud && stud->size() > 1 && stud->front() == 'M' && (*stud)[1] >= '0' && (*stud)[1] <= '9';
  return is_stud && wire.size ? fmt::format("ring, {}, {}", size_text(wire), *stud) : "";
}

}  // namespace

Paper terminations(const Solved& solved) {
  const Loom& loom = *solved.loom;
  Paper paper;
  paper.slug = "terminations";
  paper.title = "Terminations: every wire end";
  paper.landscape = true;
  paper.columns = {{"at"},
                   {"wire"},
                   {"end"},
                   {"zone"},
                   {"conductor to grip"},
                   {"bare mm", false, true},
                   {"over cable mm", false, true},
                   {"joint"},
                   {"shares with"},
                   {"lug or contact", true},
                   {"stud or pin", true},
                   {"heat shrink", true},
                   {"crimped", true}};
  // By part and terminal, as one works along the bench.
  struct End {
    TerminalIndex terminal;
    const Wire* wire;
    const char* which;
  };
  std::vector<End> ends;
  for (const Wire& wire : loom.wires) {
    ends.push_back({wire.from, &wire, "from"});
    ends.push_back({wire.to, &wire, "to"});
  }
  std::stable_sort(ends.begin(), ends.end(), [&](const End& a, const End& b) {
    const auto part = [&](const End& e) { return loom.terminal(e.terminal).part.value; };
    return part(a) != part(b) ? part(a) < part(b) : a.terminal < b.terminal;
  });
  const std::vector<Zone> zones = shown_zones(solved);
  PaperSection section;
  for (const End& end : ends) {
    const Wire& wire = *end.wire;
    const std::optional<std::string> stud = stud_of(loom, end.terminal);
    section.rows.push_back(
        {loom.title(end.terminal), wire.name, end.which, zone_text(zones[end.terminal.value]), size_text(wire),
         wire.size ? diameter(conductor_diameter_mm(wire.size->value)) : "",
         wire.size ? diameter(cable_diameter_mm(wire.size->value)) : "", joint_of(loom, end.terminal),
         wires_at(loom, end.terminal, &wire), lug_of(wire, stud),
         joint_of(loom, end.terminal) == "splice" ? "none" : stud.value_or("measure"),
         wire.size ? fmt::format("to below {} mm", diameter(cable_diameter_mm(wire.size->value))) : "", ""});
  }
  paper.sections.push_back(std::move(section));
  for (std::string& stud : likely_slips_in_studs(loom)) paper.notes.push_back(std::move(stud) + ".");
  paper.notes.emplace_back(
      "Conductor to grip: the barrel's range of sizes has to take in this size. Bare and over cable: largest diameters "
      "of ISO 6722-1 thin wall where it has the size, else computed from the area; measure the cable that you bought.");
  paper.notes.emplace_back(
      "Heat shrink has to go over the cable and over the barrel before it shrinks, and grip the cable after: the "
      "diameter that it shrinks to has to be below the one given. Write in what you bought.");
  paper.notes.emplace_back(
      "Stud or pin: as the file gives it with stud: M8 or stud: {a: M8}; 'measure' where it does not. A ring lug has "
      "the "
      "hole of its stud: one that is too large has less contact face and runs hot (common practice, no source).");
  paper.notes.emplace_back(
      "One wire in a barrel, unless the maker of the lug allows more. Pull-test a sample of each size "
      "(common practice, no source).");
  paper.notes.emplace_back(
      "Shares with: other wires on the same terminal. Thick lugs lie nearest to the contact face "
      "(common practice, no source).");
  return paper;
}

Paper labels(const Solved& solved) {
  const Loom& loom = *solved.loom;
  const std::optional<Volt> full = touch_volts(solved);
  const bool warn = may_exceed_touch_limit(full);
  const std::string warning = full ? "above 60 V" : "voltage not told";
  Paper paper;
  paper.slug = "labels";
  paper.title = "Labels: two for every wire";
  paper.columns = {{"wire"}, {"end"}, {"here"}, {"far end"}, {"size"}, {"colour"}, {"warning"}, {"text"}, {"on", true}};
  PaperSection section;
  for (const Wire& wire : loom.wires) {
    const bool live =
        warn && (solved.zone[wire.from.value] == Zone::traction || solved.zone[wire.to.value] == Zone::traction);
    for (const bool first : {true, false}) {
      const std::string here = loom.title(first ? wire.from : wire.to), far = loom.title(first ? wire.to : wire.from);
      section.rows.push_back({wire.name, first ? "from" : "to", here, far, size_text(wire),
                              wire.colour ? wire.colour->value : "", live ? warning : "",
                              fmt::format("{} {} > {}{}", wire.name, here, far, live ? " DANGER " + warning : ""), ""});
    }
  }
  paper.sections.push_back(std::move(section));
  paper.notes.emplace_back("Text: the line for the label printer, ready to print; the far end is behind the arrow.");
  paper.notes.emplace_back(
      "In the CSV an apostrophe stands before a name that a spreadsheet would take for a formula "
      "(one that begins with = + - or @); take it off for the printer.");
  return paper;
}

Paper pin_tables(const Solved& solved) {
  const Loom& loom = *solved.loom;
  Paper paper;
  paper.slug = "connector-pins";
  paper.title = "Connector pins, both mating sides";
  paper.landscape = true;
  paper.columns = {{"pin"},
                   {"plug: wire"},
                   {"size"},
                   {"colour"},
                   {"goes to"},
                   {"socket: wire"},
                   {"size"},
                   {"colour"},
                   {"goes to"},
                   {"zone"},
                   {"most A", false, true},
                   {"cavity", true},
                   {"seated", true}};
  const std::vector<Zone> zones = shown_zones(solved);
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    const Part& part = loom.parts[p];
    if (loom.kind_of(part).symbol != "connector") continue;
    PaperSection section;
    section.heading = part.name;
    const auto carries = part.number("carries");
    section.lines.push_back(
        fmt::format("A contact carries {} with all pins loaded; plug is the side of p, socket that "
                    "of s.",
                    carries ? show(Ampere(*carries)) : "an unknown current (not in the file)"));
    const int pins = static_cast<int>(part.number("pins").value_or(0));
    for (int pin = 1; pin <= pins; ++pin) {
      std::vector<std::string> row{std::to_string(pin)};
      Zone zone = Zone::none;
      double most_a = 0;
      for (const char* side : {"p", "s"}) {
        std::string wires, size, colour, far;
        for (const Wire& wire : loom.wires) {
          for (const bool at_from : {true, false}) {
            const TerminalIndex here = at_from ? wire.from : wire.to, there = at_from ? wire.to : wire.from;
            if (loom.terminal(here).part.value != p || loom.terminal(here).name != side + std::to_string(pin)) continue;
            const char* gap = wires.empty() ? "" : " + ";
            wires += gap + wire.name;
            size += gap + size_text(wire);
            colour += gap + (wire.colour ? wire.colour->value : std::string("?"));
            far += gap + loom.title(there);
            zone = zones[here.value];
            const auto index = static_cast<std::size_t>(&wire - loom.wires.data());
            most_a = std::max(most_a, most_in_use(solved, WireIndex{index}).most.value);
          }
        }
        if (wires.empty()) wires = "empty: fit a blanking plug";
        row.insert(row.end(), {wires, size, colour, far});
      }
      row.insert(row.end(), {zone_text(zone), fmt::format("{:.2f}", most_a), "", ""});
      section.rows.push_back(std::move(row));
    }
    paper.sections.push_back(std::move(section));
  }
  if (paper.sections.empty()) paper.sections.push_back({"", {"The file has no part of kind connector."}, {}, ""});
  paper.notes.emplace_back(
      "Pins are numbered as in the file, not by cavity: write the cavity in, and say on the drawing of the housing "
      "whether you look at the wire side or at the mating face.");
  paper.notes.emplace_back(
      "Most A: largest computed current of the wires on the pin over all situations, without faults.");
  return paper;
}

}  // namespace loomproof
