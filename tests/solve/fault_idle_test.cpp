// A fault told from the graph to change nothing is put in all the same, and nothing that is looked at may change.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <random>

#include "bench.h"
#include "solve/fault_idle.h"
#include "texts.h"
#include "where.h"

using namespace loomproof;

namespace {

// What the logic, a person or a watch reads of a point: the voltage at every input, load, coil and converter input.
std::vector<double> idle_readings(const Circuit& circuit, const OperatingPoint& point) {
  std::vector<double> out;
  const auto read = [&](TerminalIndex a, TerminalIndex b) {
    const auto v = voltage(circuit, point, a, b);
    out.push_back(v ? v->value : 0);
  };
  const Elements& all = circuit.loom->elements;
  for (const Input& i : all.inputs) read(i.terminal, i.reference);
  for (const Load& l : all.loads) read(l.pos, l.neg);
  for (const Coil& c : all.coils) read(c.a, c.b);
  for (const Converter& c : all.converters) read(c.in_pos, c.in_neg);
  for (const Must& m : circuit.loom->musts) {
    for (std::size_t s = 0; m.live && s < all.sources.size(); ++s) read(*m.live, all.sources[s].neg);
  }
  return out;
}

double furthest_apart(const std::vector<double>& a, const std::vector<double>& b) {
  double most = 0;
  for (std::size_t i = 0; i < a.size(); ++i) most = std::max(most, std::fabs(a[i] - b[i]));
  return most;
}

struct IdleCompared {
  std::size_t states = 0, idle = 0, other_state = 0;
  double furthest_v = 0;
  std::map<FaultType, std::size_t> by_type;
};

// The idle faults of one situation from rest, each settled; one that a state on the way makes otherwise is no such.
class IdleBench {
 public:
  explicit IdleBench(const Loom& loom)
      : circuit_(build_circuit(loom)),
        faults_(single_faults(circuit_)),
        plain_(circuit_, faults_),
        faulty_(circuit_, faults_),
        finder_(plain_, faults_) {}

  std::vector<bool> idle_in(const Situation& s) {
    point_ = plain_.settle_from_rest(s);
    if (!point_.trouble.empty() || plain_.overloads_fuse() || !plain_.undefined_inputs().empty()) return {};
    std::vector<bool> idle(faults_.size(), true);
    finder_.narrow(s, point_.logic, idle);
    const std::vector<LogicState> passed(plain_.passed().begin(), plain_.passed().end());
    for (const LogicState& logic : passed) finder_.narrow(s, logic, idle);
    return idle;
  }

  void compare(const Situation& s, std::size_t every, IdleCompared& out) {
    const std::vector<bool> idle = idle_in(s);
    if (idle.empty()) return;
    ++out.states;
    const std::vector<double> before = idle_readings(plain_.circuit(), point_);
    for (std::size_t f = 0; f < faults_.size(); ++f) {
      if (!idle[f] || seen_++ % every != 0) continue;
      ++out.idle;
      ++out.by_type[faults_[f].type];
      faulty_.apply(&faults_[f]);
      const OperatingPoint& after = faulty_.settle_from_rest(s);
      LogicState state = after.logic;
      // That a contact which cannot close is not closed is the fault itself; its lack of effect is what counts.
      if (faults_[f].type == FaultType::contact_open)
        state.contact_closed[faults_[f].index] = point_.logic.contact_closed[faults_[f].index];
      if (!after.trouble.empty() || state != point_.logic || !faulty_.blown().empty()) ++out.other_state;
      out.furthest_v = std::max(out.furthest_v, furthest_apart(before, idle_readings(faulty_.circuit(), after)));
    }
  }

  bool is_idle(const std::string& description, const Situation& s) {
    const std::vector<bool> idle = idle_in(s);
    REQUIRE_FALSE(idle.empty());
    for (std::size_t f = 0; f < faults_.size(); ++f) {
      if (describe(*circuit_.loom, faults_[f]) == description) return idle[f];
    }
    FAIL("no fault is called " << description);
    return false;
  }

 private:
  Circuit circuit_;
  std::vector<Fault> faults_;
  FaultNetwork plain_, faulty_;
  IdleFaults finder_;
  OperatingPoint point_;
  std::size_t seen_ = 0;
};

Situation drawn_switches(const Loom& loom, std::mt19937& dice) {
  Situation s;
  for (const Part& p : loom.parts)
    s.positions.push_back(static_cast<std::int8_t>(dice() % std::max<std::size_t>(1, p.positions.size())));
  s.charge = dice() % 2 == 0 ? Charge::full : Charge::empty;
  return s;
}

Situation standing(const Loom& loom, const std::map<std::string, int>& moved = {}) {
  Situation s;
  for (const Part& p : loom.parts) {
    const auto at = moved.find(p.name);
    s.positions.push_back(static_cast<std::int8_t>(at == moved.end() ? 0 : at->second));
  }
  return s;
}

}  // namespace

TEST_CASE("a fault that is skipped as idle settles to the same state and voltages: drawn situations of every demo") {
  for (const char* name : {"orchard-cart", "marshals-quad", "parcel-trike"}) {
    CAPTURE(name);
    const Loom loom = bench::loom_from(texts::of_file(SOURCE_ROOT + "/netlists/" + name + ".yaml"));
    IdleBench idle_bench(loom);
    std::mt19937 dice(23);
    IdleCompared all;
    for (int i = 0; i < 120; ++i) idle_bench.compare(drawn_switches(loom, dice), every(3), all);
    CHECK(all.other_state == 0);
    // Both are solved to the same Kirchhoff residual; what is left is rounding.
    CHECK(all.furthest_v < 1e-6);
    CHECK(all.idle > all.states);
    CHECK(all.by_type.size() >= 4);
    MESSAGE(std::string(name) << ": " << all.idle << " idle faults of " << all.by_type.size() << " sorts in " << all.states
                              << " situations, furthest " << all.furthest_v << " V");
  }
}

TEST_CASE("by hand: behind an open switch every wire may break, before a lamp that is on none") {
  // Current flows in a loop with a source in it and nowhere else (Kirchhoff's current law).
  bench::Drawing d;
  d.part("cell", bench::battery(12, "10 mohm"));
  d.part("knob", "switch, positions: [off, on], carries: 5 A, volts: 16 V");
  d.part("lit", "lamp, watts: 10 W, volts: 12 V");
  d.part("dark", "lamp, watts: 10 W, volts: 12 V");
  d.wire("A1", "cell.pos", "lit.a").wire("A2", "lit.b", "cell.neg");
  d.wire("B1", "cell.pos", "knob.a").wire("B2", "knob.b", "dark.a").wire("B3", "dark.b", "cell.neg");
  const Loom loom = bench::loom_from(d.text());
  IdleBench idle_bench(loom);
  const Situation off = standing(loom), on = standing(loom, {{"knob", 1}});
  for (const char* wire : {"B1", "B2", "B3"}) {
    CHECK(idle_bench.is_idle(fmt::format("'{}' open", wire), off));
    CHECK_FALSE(idle_bench.is_idle(fmt::format("'{}' open", wire), on));
  }
  for (const char* wire : {"A1", "A2"}) {
    CHECK_FALSE(idle_bench.is_idle(fmt::format("'{}' open", wire), off));
    CHECK_FALSE(idle_bench.is_idle(fmt::format("'{}' open", wire), on));
  }
  CHECK(idle_bench.is_idle("'knob' stuck in off", off));
  CHECK_FALSE(idle_bench.is_idle("'knob' stuck in off", on));
  CHECK(idle_bench.is_idle("'knob.blade' welded", on));
  CHECK_FALSE(idle_bench.is_idle("'knob.blade' welded", off));
  for (const Situation& s : {off, on}) {
    IdleCompared all;
    idle_bench.compare(s, 1, all);
    CHECK(all.idle > 0);
    CHECK(all.other_state == 0);
    CHECK(all.furthest_v < 1e-9);
  }
}

TEST_CASE("by hand: a second feed of a lamp carries current, and a stub that nothing returns from carries none") {
  bench::Drawing d;
  d.part("cell", bench::battery(12, "10 mohm"));
  d.part("lit", "lamp, watts: 10 W, volts: 12 V");
  d.part("far", "splice");
  d.wire("A1", "cell.pos", "lit.a").wire("A2", "cell.pos", "lit.a").wire("A3", "lit.b", "cell.neg");
  d.wire("S1", "lit.a", "far");
  const Loom loom = bench::loom_from(d.text());
  IdleBench idle_bench(loom);
  const Situation s = standing(loom);
  CHECK(idle_bench.is_idle("'S1' open", s));
  CHECK_FALSE(idle_bench.is_idle("'A1' open", s));
  CHECK_FALSE(idle_bench.is_idle("'A2' open", s));
  CHECK_FALSE(idle_bench.is_idle("'A3' open", s));
}
