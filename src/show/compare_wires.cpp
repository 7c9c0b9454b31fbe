// Wires by name: what has to be cut anew, ended anew, labelled anew or taken out.
#include <algorithm>
#include <map>

#include "show/compare.h"
#include "show/paper.h"
#include "units/print.h"

namespace loomproof {
namespace {

std::string length_of(const Wire& wire) {
  return wire.length ? millimetres(wire.length->value) + " mm" : std::string();
}

std::string volts_of(const Wire& wire) {
  return wire.volts ? show(wire.volts->value) : std::string();
}

class Differences {
 public:
  void note(const char* what, const std::string& before, const std::string& after) {
    if (before != after) all.push_back({what, before, after});
  }
  std::vector<Change> all;
};

std::vector<Change> cable_changes(const Wire& a, const Wire& b) {
  Differences d;
  // By value: 35 mm2 written as 35.0 mm2 is the same cable.
  if (a.size.has_value() != b.size.has_value() || (a.size && a.size->value != b.size->value))
    d.note("size", size_text(a), size_text(b));
  d.note("length", length_of(a), length_of(b));
  d.note("insulation", given_text(a.insulation), given_text(b.insulation));
  d.note("cable volts", volts_of(a), volts_of(b));
  d.note("colour", given_text(a.colour), given_text(b.colour));
  return d.all;
}

std::vector<Change> end_changes(const Loom& x, const Wire& a, const Loom& y, const Wire& b) {
  Differences d;
  d.note("from", x.title(a.from), y.title(b.from));
  d.note("to", x.title(a.to), y.title(b.to));
  return d.all;
}

std::vector<Change> run_changes(const Loom& x, const Wire& a, const Loom& y, const Wire& b) {
  Differences d;
  d.note("runs in", runs_in(x, a), runs_in(y, b));
  d.note("sheathed", a.sheathed ? "yes" : "no", b.sheathed ? "yes" : "no");
  return d.all;
}

std::vector<Change> as_new(const Loom& loom, const Wire& wire) {
  Differences d;
  d.note("size", "", size_text(wire));
  d.note("length", "", length_of(wire));
  d.note("colour", "", given_text(wire.colour));
  d.note("from", "", loom.title(wire.from));
  d.note("to", "", loom.title(wire.to));
  return d.all;
}

std::map<std::string_view, const Wire*> by_name(const Loom& loom) {
  std::map<std::string_view, const Wire*> out;
  for (const Wire& wire : loom.wires) out.emplace(wire.name, &wire);
  return out;
}

}  // namespace

std::vector<WireChange> wire_changes(const Loom& before, const Loom& after) {
  const auto old_wires = by_name(before), new_wires = by_name(after);
  std::vector<const Wire*> gone;
  for (const Wire& wire : before.wires) {
    if (!new_wires.contains(wire.name)) gone.push_back(&wire);
  }
  std::vector<WireChange> out;
  for (const Wire& wire : after.wires) {
    const auto found = old_wires.find(wire.name);
    if (found == old_wires.end()) {
      const auto twin = std::find_if(gone.begin(), gone.end(), [&](const Wire* old) {
        return cable_changes(*old, wire).empty() && end_changes(before, *old, after, wire).empty();
      });
      if (twin == gone.end()) {
        out.push_back({WireChange::Work::cut, wire.name, true, as_new(after, wire)});
      } else {
        out.push_back({WireChange::Work::label, wire.name, false, {{"name", (*twin)->name, wire.name}}});
        gone.erase(twin);
      }
      continue;
    }
    const Wire& old = *found->second;
    std::vector<Change> changes = cable_changes(old, wire);
    const std::vector<Change> ends = end_changes(before, old, after, wire);
    const std::vector<Change> run = run_changes(before, old, after, wire);
    if (changes.empty() && ends.empty() && run.empty()) continue;
    const auto work = !changes.empty() ? WireChange::Work::cut
                      : !ends.empty()  ? WireChange::Work::end
                                       : WireChange::Work::label;
    changes.insert(changes.end(), ends.begin(), ends.end());
    changes.insert(changes.end(), run.begin(), run.end());
    out.push_back({work, wire.name, false, std::move(changes)});
  }
  for (const Wire* wire : gone) {
    out.push_back({WireChange::Work::remove,
                   wire->name,
                   false,
                   {{"from", before.title(wire->from), ""}, {"to", before.title(wire->to), ""}}});
  }
  return out;
}

}  // namespace loomproof
