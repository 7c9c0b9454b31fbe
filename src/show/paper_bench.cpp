// Each stage alters a copy of the loom as the builder alters the vehicle, and settles that.
#include "show/paper_bench.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "show/paper_stage.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr Celsius bench_copper{20};

BenchStage new_stage(std::string title, Loom loom) {
  BenchStage stage;
  stage.title = std::move(title);
  stage.loom = std::make_unique<Loom>(std::move(loom));
  stage.circuit = build_circuit(*stage.loom);
  return stage;
}

BenchStage stage_without(std::string title, const Plan& plan, std::string lacking) {
  BenchStage stage = new_stage(std::move(title), with_copper_at(*plan.solved->loom, bench_copper));
  stage.lacking.push_back(std::move(lacking));
  return stage;
}

BenchStage supply_stage(const Plan& plan) {
  const std::string title = "1. Current-limited supply, no pack";
  if (!plan.pack) return stage_without(title, plan, "the file has no pack, so there is no traction side to try");
  const Loom& whole = *plan.solved->loom;
  Loom loom = with_copper_at(whole, bench_copper);
  const Poles poles = *plan.pack;
  take_out(loom, loom.terminal(poles.pos).part);
  stand_in(loom, poles, bench_volts, bench_limit);
  BenchStage stage = new_stage(title, std::move(loom));
  stage.setup = {fmt::format("Pack away: no lead, sense lead or tap of '{}' is connected. Every pole of it is covered.",
                             whole.part(whole.terminal(poles.pos).part).name),
                 fmt::format("Supply set to {} and {}, output off; + to the lead of {}, - to the lead of {}.",
                             show(bench_volts), show(bench_limit), whole.title(poles.pos), whole.title(poles.neg)),
                 fmt::format("{} is below 60 V DC and what a bench supply gives: an assumption of this sheet "
                             "(common practice, no source).",
                             show(bench_volts)),
                 "Fuses fitted, service plug in, every switch at rest, 12 V side not fed from outside."};
  Network network(stage.circuit);
  BenchStep step;
  step.todo = "Supply on, every switch at rest";
  step.point = network.settle({plan.rest, Charge::nominal, std::nullopt});
  read_traction(plan, stage, poles.neg, nullptr, step);
  step.supply = supply_current(stage, step.point);
  stage.steps.push_back(std::move(step));
  stage.stop =
      "supply in its current limit, a reading with the wrong sign, or any voltage where 0 V is expected: supply off, "
      "find "
      "the wire";
  return stage;
}

BenchStage low_voltage_stage(const Plan& plan) {
  const std::string title = "2. 12 V only";
  if (!plan.low) return stage_without(title, plan, "the file has no battery and no converter for the 12 V side");
  const Loom& whole = *plan.solved->loom;
  Loom loom = with_copper_at(whole, bench_copper);
  if (plan.pack) take_out(loom, loom.terminal(plan.pack->pos).part);
  if (plan.low_is_battery) take_out(loom, loom.terminal(plan.low->pos).part);
  stand_in(loom, *plan.low, plan.low_volts, std::nullopt);
  BenchStage stage = new_stage(title, std::move(loom));
  Network network(stage.circuit);
  Situation situation{plan.rest, Charge::nominal, std::nullopt};
  const auto settle = [&](std::string todo, const OperatingPoint* before) {
    BenchStep step;
    step.todo = std::move(todo);
    step.point = network.settle(situation);
    read_changes(plan, stage, before, Side::low_voltage, step);
    step.supply = supply_current(stage, step.point);
    return step;
  };
  if (plan.service_plug) situation.positions[plan.service_plug->value] = plan.plug_out;
  stage.steps.push_back(settle("Supply on, every switch at rest", nullptr));
  for (PartIndex p : plan.operated) {
    if (plan.ready[p.value] == plan.rest[p.value] || plan.is_throttle(p) || plan.feeds_traction(p)) continue;
    situation.positions[p.value] = plan.ready[p.value];
    stage.steps.push_back(settle(plan.move_text(p, plan.ready[p.value]), &stage.steps.back().point));
  }
  const std::size_t ready = stage.steps.size() - 1;
  const Situation at_ready = situation;
  for (PartIndex p : plan.operated) {
    if (plan.is_throttle(p) || plan.feeds_traction(p)) continue;
    for (std::size_t q = 0; q < whole.part(p).positions.size(); ++q) {
      if (static_cast<int>(q) == at_ready.positions[p.value]) continue;
      situation = at_ready;
      situation.positions[p.value] = static_cast<std::int8_t>(q);
      BenchStep step = settle(plan.move_text(p, static_cast<int>(q)), &stage.steps[ready].point);
      step.todo += fmt::format(", then back to {}", whole.part(p).positions[at_ready.positions[p.value]]);
      stage.steps.push_back(std::move(step));
    }
  }
  double most_a = 0;
  for (const BenchStep& step : stage.steps) {
    if (step.supply) most_a = std::max(most_a, step.supply->value);
  }
  const double limit_a = std::max(0.5, std::ceil(1.25 * most_a * 2) / 2);
  stage.setup = {
      plan.pack ? "Pack away and service plug out: the traction side is dead. Check that with the meter."
                : "Traction side dead. Check that with the meter.",
      fmt::format(
          "{}; + of the supply to the lead of {}, - to the lead of {}.",
          plan.low_is_battery ? "12 V battery away" : "Output leads of the converter off and the converter away",
          whole.title(plan.low->pos), whole.title(plan.low->neg)),
      fmt::format(
          "Supply set to {} and {}: a quarter above the largest computed current of this stage, next half ampere "
          "(common practice, no source). A cold filament or horn may hold it in the limit for a moment.",
          show(plan.low_volts), show(Ampere(limit_a))),
      "Fit the fuses one after another, smallest first, supply on each time: the current never passes that of step "
      "2.1."};
  stage.stop =
      "supply in its current limit for more than a second, a reading outside its tolerance, a lamp or relay that "
      "answers to the wrong switch: supply off, find the wire";
  return stage;
}

// The key is turned off with the bus charged: what is left is dangerous until it has gone.
BenchStep key_off(const Plan& plan, const BenchStage& stage, const PrechargedContact& what, OperatingPoint point) {
  BenchStep step;
  step.todo = "Every switch back to rest: the bus discharges. Wait until it is below 5 V before the next stage";
  step.point = std::move(point);
  if (!step.point.trouble.empty()) return step;
  const auto below = [&](Volt to) {
    const auto time = discharge_time(plan, stage, what.capacitance, step.point, to);
    return time ? fmt::format("below {} within {}", show(to), show(*time))
                : std::string("not known: the file has no resistor across it. Measure, do not guess");
  };
  const Capacitance& bank = stage.loom->elements.capacitances[what.capacitance];
  const std::string bus = stage.loom->title(bank.a) + " to " + stage.loom->title(bank.b);
  // Whatever is known of the time, the voltage has to be read.
  const auto look = [&](Volt to) {
    step.sights.push_back({"bus, " + bus, below(to), fmt::format("below {}; write the time down", show(to))});
  };
  if (plan.pack_v > 60) look(Volt(60));
  look(Volt(5));
  return step;
}

BenchStage precharge_stage(const Plan& plan, const std::vector<PrechargedContact>& contacts) {
  const Loom& whole = *plan.solved->loom;
  Loom loom = with_copper_at(whole, bench_copper);
  const std::string title = "3. Precharge only";
  if (!plan.pack || contacts.empty()) {
    BenchStage stage = new_stage(title, std::move(loom));
    stage.lacking.emplace_back(
        !plan.pack
            ? "the file has no pack"
            : "the file shows no contactor with a precharge path around it, or not the capacitance behind it: no "
              "reading can be computed, and nothing here says that closing the contactor is safe");
    return stage;
  }
  std::string lead;
  for (const PrechargedContact& c : contacts) {
    const std::string here = leave_open(loom, c.contact);
    if (lead.find(here) == std::string::npos) lead += (lead.empty() ? "" : ", ") + here;
  }
  BenchStage stage = new_stage(title, std::move(loom));
  const TerminalIndex neg = plan.pack->neg;
  stage.setup = {
      fmt::format("Coil lead of the contactor off and insulated: {}. It cannot close in this stage.", lead),
      "12 V side as it will be on the road. Wheels off the ground. Nobody near the wheels.",
      "Vp is the pack's own voltage, measured in the first step. Where it is not what is expected there, the "
      "expected reading is the share in the column 'x Vp' times your Vp."};
  Network network(stage.circuit);
  Situation situation{plan.rest, Charge::nominal, std::nullopt};
  const auto settle = [&](std::string todo) {
    BenchStep step;
    step.todo = std::move(todo);
    step.point = network.settle(situation);
    return step;
  };
  if (plan.service_plug) {
    situation.positions[plan.service_plug->value] = plan.plug_out;
    BenchStep step = settle(fmt::format("Pack connected, '{}' {}: polarity and voltage of the pack",
                                        whole.part(*plan.service_plug).name,
                                        whole.part(*plan.service_plug).positions[plan.plug_out]));
    add_reading(plan, stage, plan.pack->pos, neg, "this is Vp", step);
    read_traction(plan, stage, neg, nullptr, step);
    stage.steps.push_back(std::move(step));
    situation.positions = plan.rest;
  } else {
    BenchStep step = settle("Pack connected: polarity and voltage of the pack");
    add_reading(plan, stage, plan.pack->pos, neg, "this is Vp", step);
    stage.steps.push_back(std::move(step));
  }
  {
    BenchStep step = settle(plan.service_plug ? "Service plug in, every switch at rest" : "Every switch at rest");
    read_traction(plan, stage, neg, plan.service_plug ? &stage.steps.back().point : nullptr, step);
    stage.steps.push_back(std::move(step));
  }
  std::string moves;
  for (PartIndex p : plan.operated) {
    if (plan.ready[p.value] == plan.rest[p.value]) continue;
    situation.positions[p.value] = plan.ready[p.value];
    moves += (moves.empty() ? "" : "; ") + plan.move_text(p, plan.ready[p.value]);
  }
  BenchStep step = settle(moves + ": the bus charges through the resistor; read when it has settled");
  read_traction(plan, stage, neg, &stage.steps.back().point, step);
  read_changes(plan, stage, &stage.steps.back().point, Side::both, step);
  stage.curve = precharge_curve(plan, stage, contacts.front(), step.point);
  if (!stage.curve) {
    stage.lacking.emplace_back(
        "the curve of the bus voltage: it needs the capacitance, the resistance of the source, and a bus that charges");
  }
  stage.steps.push_back(std::move(step));
  stage.curve_after = stage.steps.size() - 1;
  situation.positions = plan.rest;
  stage.steps.push_back(key_off(plan, stage, contacts.front(), network.settle(situation)));
  stage.stop =
      "the bus below 90 % of Vp after five time constants, the resistor hot to the back of a hand held near it, the "
      "contactor heard to close: key off, service plug out, wait, measure";
  return stage;
}

BenchStage closed_stage(const Plan& plan, const std::vector<PrechargedContact>& contacts) {
  const Loom& whole = *plan.solved->loom;
  BenchStage stage = new_stage("4. Main contactor closed, wheels off the ground", with_copper_at(whole, bench_copper));
  if (!plan.pack || !plan.drives) {
    stage.lacking.emplace_back("no situation of the file gives torque, so there is no state to try");
    return stage;
  }
  stage.setup = {
      "Bus measured below 5 V, then the coil lead back on.",
      "Wheels off the ground and the vehicle on stands that cannot tip. Nobody in front, behind or beside it; "
      "loose clothing tied. A second person holds the kill switch.",
      "Lowest current limit in the controller's settings. 'x Vp' as in stage 3."};
  Network network(stage.circuit);
  Situation situation{plan.rest, Charge::nominal, std::nullopt};
  const OperatingPoint before = network.settle(situation);
  situation.positions = plan.ready;
  BenchStep step;
  std::string moves;
  for (PartIndex p : plan.operated) {
    if (plan.ready[p.value] == plan.rest[p.value]) continue;
    moves += (moves.empty() ? "" : "; ") + plan.move_text(p, plan.ready[p.value]);
  }
  step.todo = moves + ", throttle at rest: precharge, then the contactor closes once, with one click";
  step.point = network.settle(situation);
  for (const PrechargedContact& c : contacts) {
    const Contact& contact = whole.elements.contacts[c.contact];
    add_reading(plan, stage, contact.a, contact.b, "across the closed contact", step);
  }
  read_traction(plan, stage, plan.pack->neg, &before, step);
  read_changes(plan, stage, &before, Side::both, step);
  step.sights.push_back({"torque", has_torque(whole, step.point) ? "wheel turns" : "wheel stands"});
  step.supply = pack_amps(plan, step.point);
  stage.steps.push_back(std::move(step));
  for (PartIndex p : plan.operated) {
    if (!plan.is_throttle(p) || plan.drive[p.value] == plan.ready[p.value]) continue;
    situation.positions[p.value] = plan.drive[p.value];
    BenchStep turn;
    turn.todo = plan.move_text(p, plan.drive[p.value]) + " slowly, for a moment, then back";
    turn.point = network.settle_from(stage.steps.back().point, situation);
    read_changes(plan, stage, &stage.steps.back().point, Side::both, turn);
    turn.sights.push_back(
        {"torque", has_torque(whole, turn.point) ? "wheel turns, the right way round" : "wheel stands"});
    stage.steps.push_back(std::move(turn));
  }
  stage.stop =
      "the contactor clicks more than once or buzzes, the wheel turns with the throttle at rest, a reading outside "
      "its tolerance, smell or smoke: kill switch, key off, service plug out when nothing turns";
  return stage;
}

BenchStage checks_stage(const Plan& plan) {
  const Loom& whole = *plan.solved->loom;
  BenchStage stage = new_stage("5. Brake, kill and lock-out checks", with_copper_at(whole, bench_copper));
  if (!plan.drives) {
    stage.lacking.emplace_back("no situation of the file gives torque, so there is nothing to cut");
    return stage;
  }
  stage.setup = {"As stage 4. Before each step the wheel turns slowly; the throttle stays held while the step is done.",
                 "Each control is tried by itself, then put back, and the drive started anew."};
  Network network(stage.circuit);
  const OperatingPoint driving = network.settle({plan.drive, Charge::nominal, std::nullopt});
  for (PartIndex p : plan.operated) {
    if (plan.is_throttle(p) || p == plan.service_plug) continue;
    for (std::size_t q = 0; q < whole.part(p).positions.size(); ++q) {
      if (static_cast<int>(q) == plan.drive[p.value]) continue;
      Situation situation{plan.drive, Charge::nominal, std::nullopt};
      situation.positions[p.value] = static_cast<std::int8_t>(q);
      const bool parked = plan.feeds_traction(p);  // nobody plugs a charger into a turning vehicle
      BenchStep step;
      step.point = parked ? network.settle(situation) : network.settle_from(driving, situation);
      if (step.point.trouble.empty() && has_torque(whole, step.point)) continue;
      step.todo =
          parked ? fmt::format("Key off, wheel standing; {}; key on, throttle", plan.move_text(p, static_cast<int>(q)))
                 : plan.move_text(p, static_cast<int>(q));
      step.sights.push_back({"torque", "none: the wheel is not driven"});
      read_changes(plan, stage, &driving, Side::low_voltage, step);
      stage.steps.push_back(std::move(step));
    }
  }
  if (stage.steps.empty()) {
    stage.lacking.emplace_back("NO control of the file cuts the torque: do not power this vehicle up");
  }
  stage.stop =
      "the wheel is still driven: kill switch, key off, service plug out when nothing turns. Do not ride. Brake, "
      "kill and lock-out are tried again after every change";
  return stage;
}

}  // namespace

std::vector<BenchStage> bench_stages(const Solved& solved) {
  const Plan plan = plan_of(solved);
  const std::vector<PrechargedContact> contacts = precharged_contacts(plan);
  std::vector<BenchStage> stages;
  stages.push_back(supply_stage(plan));
  stages.push_back(low_voltage_stage(plan));
  stages.push_back(precharge_stage(plan, contacts));
  stages.push_back(closed_stage(plan, contacts));
  stages.push_back(checks_stage(plan));
  return stages;
}

}  // namespace loomproof
