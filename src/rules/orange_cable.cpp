// orange-cable: above 60 V d.c. every traction cable has an orange outer cover.
//
// UN R100 and R136, ISO 6469-3 (from memory); student-contest rules (tests/reference/voltage_class_limits.csv).
// docs/rules/orange-cable.md
#include "rules/list.h"
#include "rules/subject.h"
#include "rules/voltage_class.h"
#include "units/print.h"

namespace loomproof {
namespace {

void judge_orange_cable(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const double full_v = cable_class_v(solved);
  if (full_v <= class_a_v) return;
  // One cause, one finding: the cable that was bought has one colour.
  std::vector<WireIndex> plain, unknown;
  std::size_t orange = 0;
  for (std::size_t w = 0; w < loom.wires.size(); ++w) {
    const Wire& wire = loom.wires[w];
    if (solved.zone[wire.from.value] != Zone::traction && solved.zone[wire.to.value] != Zone::traction) continue;
    if (!wire.colour) {
      unknown.push_back(WireIndex{w});
    } else if (wire.colour->value.starts_with("OG")) {
      ++orange;
    } else {
      plain.push_back(WireIndex{w});
    }
  }
  const auto names = [&](const std::vector<WireIndex>& wires) {
    std::string out;
    for (WireIndex w : wires) out += (out.empty() ? "" : ", ") + loom.wire(w).name;
    return out;
  };
  if (!plain.empty()) {
    const Wire& first = loom.wire(plain.front());
    ledger.open(rule, subject_of(loom, plain.front()))
        .broken(fmt::format("'{}' belongs to a traction circuit of {} and is {}, not orange", first.name,
                            show(Volt(full_v)), first.colour->value),
                Figure{fmt::format("{} wires", plain.size()), "0 wires", 1e6})
        .note(plain.size() > 1 ? "so are, or of another colour: " + names({plain.begin() + 1, plain.end()}) : "")
        .note("who opens the vehicle later takes a black cable for 12 V")
        .see(first.colour->at, "colour")
        .fix(
            "cable with an orange cover, or an orange sleeve over the whole run; write `colour: OG` and a second code");
  }
  if (!unknown.empty()) {
    ledger.open(rule, subject_of(loom, unknown.front()))
        .undecided(fmt::format("colour of '{}' is not given, and {} stand on its circuit",
                               loom.wire(unknown.front()).name, show(Volt(full_v))),
                   "write `colour: OG` in " + names(unknown));
  }
  if (plain.empty() && unknown.empty() && orange > 0) {
    ledger.open(rule, {fmt::format("traction cable"), {}, std::nullopt, std::nullopt})
        .holds(fmt::format("all {} traction wires are orange", orange));
  }
}

}  // namespace

const Rule orange_cable{
    .slug = "orange-cable",
    .group = Group::insulation,
    .severity = Severity::paperwork,
    .promise = "Above 60 V d.c. every traction cable has an orange cover.",
    .judge = judge_orange_cable,
};

}  // namespace loomproof
