// What the file offers to a power-up, found in the solved loom.
#include <algorithm>

#include <fmt/format.h>

#include "show/paper_stage.h"

namespace loomproof {
namespace {

// Outermost poles of a part's sources: sections of a tapped pack follow one another from the negative upwards.
std::optional<Poles> poles_of(const Loom& loom, PartIndex part) {
  std::optional<Poles> poles;
  for (const Source& s : loom.elements.sources) {
    if (s.part != part) continue;
    if (!poles) poles = Poles{s.pos, s.neg};
    poles->pos = s.pos;
  }
  return poles;
}

double nominal_of(const Loom& loom, PartIndex part) {
  double sum_v = 0;
  for (const Source& s : loom.elements.sources) {
    if (s.part == part && s.nominal_v) sum_v += *s.nominal_v * s.share;
  }
  return sum_v;
}

// Position in which none of the part's contacts is closed.
std::int8_t open_position(const Loom& loom, PartIndex part) {
  for (std::size_t q = 0; q < loom.part(part).positions.size(); ++q) {
    const bool closes =
        std::any_of(loom.elements.contacts.begin(), loom.elements.contacts.end(), [&](const Contact& c) {
          const auto& at = c.closed_when.positions;
          return c.part == part && std::find(at.begin(), at.end(), static_cast<int>(q)) != at.end();
        });
    if (!closes) return static_cast<std::int8_t>(q);
  }
  return 0;
}

void find_supplies(const Loom& loom, Plan& plan) {
  for (const Source& s : loom.elements.sources) {
    if (s.zone == Zone::traction && !s.limit_a && s.when.op == Condition::Op::always && !plan.pack) {
      plan.pack = poles_of(loom, s.part);
      plan.pack_v = nominal_of(loom, s.part);
    }
    if (s.zone == Zone::low_voltage && !plan.low) {
      plan.low = poles_of(loom, s.part);
      plan.low_is_battery = true;
      plan.low_volts = Volt(nominal_of(loom, s.part));
    }
  }
  for (const Converter& c : loom.elements.converters) {
    if (plan.low || !c.volts_v) continue;
    plan.low = Poles{c.out_pos, c.out_neg};
    plan.low_volts = Volt(*c.volts_v);
  }
}

std::size_t moves_from_rest(const Situation& situation) {
  return static_cast<std::size_t>(std::count_if(situation.positions.begin(), situation.positions.end(),
                                                [](std::int8_t position) { return position != 0; }));
}

void find_drive(const Solved& solved, Plan& plan) {
  const OperatingPoint* found = nullptr;
  for (const OperatingPoint& point : solved.points) {
    if (point.situation.duty || point.situation.charge != Charge::full || !has_torque(*solved.loom, point)) continue;
    if (!found || moves_from_rest(point.situation) < moves_from_rest(found->situation)) found = &point;
  }
  if (!found) return;
  plan.drives = true;
  plan.drive = found->situation.positions;
  plan.ready = plan.drive;
  for (PartIndex p : plan.operated) {
    if (plan.is_throttle(p)) plan.ready[p.value] = 0;
  }
}

}  // namespace

bool has_torque(const Loom& loom, const OperatingPoint& point) {
  for (std::size_t i = 0; i < loom.elements.outputs.size(); ++i) {
    if (loom.elements.outputs[i].name == "torque" && point.logic.output_on[i] != 0) return true;
  }
  return false;
}

bool Plan::is_throttle(PartIndex p) const {
  const auto& all = solved->loom->elements.dividers;
  return std::any_of(all.begin(), all.end(), [&](const Divider& d) { return d.part == p; });
}

bool Plan::feeds_traction(PartIndex p) const {
  const auto& all = solved->loom->elements.sources;
  return p == service_plug ||
         std::any_of(all.begin(), all.end(), [&](const Source& s) { return s.part == p && s.zone == Zone::traction; });
}

std::string Plan::move_text(PartIndex p, int position) const {
  const Part& part = solved->loom->part(p);
  return fmt::format("'{}' to {}", part.name, part.positions[static_cast<std::size_t>(position)]);
}

Plan plan_of(const Solved& solved) {
  const Loom& loom = *solved.loom;
  Plan plan;
  plan.solved = &solved;
  find_supplies(loom, plan);
  plan.rest.assign(loom.parts.size(), 0);
  plan.ready = plan.drive = plan.rest;
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    if (loom.parts[p].positions.size() < 2) continue;
    plan.operated.push_back(PartIndex{p});
    if (loom.parts[p].kind == "service-plug" && !plan.service_plug) {
      plan.service_plug = PartIndex{p};
      plan.plug_out = open_position(loom, PartIndex{p});
    }
  }
  find_drive(solved, plan);
  return plan;
}

}  // namespace loomproof
