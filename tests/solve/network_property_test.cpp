// What must hold in any loom: Kirchhoff, drops that follow lengths, results that forget order and history.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "bench.h"
#include "element_laws.h"
#include "solve/situations.h"
#include "texts.h"

using namespace loomproof;
using namespace loomproof::bench;

namespace {

bool same(const OperatingPoint& a, const OperatingPoint& b) {
  if (!(a.logic == b.logic) || a.trouble != b.trouble || a.piece != b.piece) return false;
  for (std::size_t n = 0; n < a.node_v.size(); ++n) {
    if (std::fabs(a.node_v[n] - b.node_v[n]) > 1e-6) return false;
  }
  return true;
}

}  // namespace

TEST_CASE("every settled situation of the demos: Kirchhoff, and the same as settled afresh from rest") {
  for (const std::string name : {"orchard-cart", "marshals-quad", "parcel-trike"}) {
    Setup s(texts::of_file(SOURCE_ROOT + "/netlists/" + name + ".yaml"));
    const Situations all = settle_all(s.circuit);
    double worst = 0;
    std::size_t different = 0;
    std::mt19937 pick(1);
    std::size_t looked = 0;
    for (const OperatingPoint& p : all.points) {
      worst = std::max(worst, laws::largest_residual_a(s.circuit, p));
      if (pick() % 8 != 0) continue;
      ++looked;
      Network fresh(s.circuit);
      if (!same(fresh.settle(p.situation), p)) ++different;
    }
    MESSAGE(name << ": " << all.points.size() << " points, " << all.troubled.size() << " troubled, residual " << worst
                 << " A; of " << looked << " settled afresh " << different << " differ");
    CHECK(worst < 1e-5);
    CHECK(different == 0);
  }
}

TEST_CASE("shuffled parts and wires settle to the same voltages") {
  std::mt19937 dice(7);
  Drawing d;
  d.part("b", "battery, resistance: 20 mohm").part("key", "switch, positions: [off, on]");
  d.part("rel", "relay, coil: 12 V 0.1 A").part("lamp", "lamp, watts: 55 W, volts: 12 V").part("diode", "diode");
  d.part("show", "display, watts: 5 W, volts: 12 V, works: 9 V to 16 V");
  const std::string build = "size: 1 mm2, length: 2 m";
  d.wire("a", "b.pos", "key.a", build).wire("c", "key.b", "rel.coil_a", build).wire("e", "rel.coil_b", "b.neg", build);
  d.wire("f", "b.pos", "rel.a", build).wire("g", "rel.b", "lamp.a", build).wire("h", "lamp.b", "b.neg", build);
  d.wire("i", "rel.b", "diode.anode", build).wire("j", "diode.cathode", "show.pos", build);
  d.wire("k", "show.neg", "b.neg", build);
  Setup first(d);
  const OperatingPoint p = first.settle({{"key", "on"}});
  CHECK(p.trouble.empty());
  for (int i = 0; i < 20; ++i) {
    std::shuffle(d.parts.begin(), d.parts.end(), dice);
    std::shuffle(d.wires.begin(), d.wires.end(), dice);
    Setup s(d);
    const OperatingPoint q = s.settle({{"key", "on"}});
    CHECK(q.trouble.empty());
    for (const char* t : {"lamp.a", "lamp.b", "show.pos", "show.neg", "rel.coil_a", "key.b"})
      CHECK(s.volts(q, t, "b.neg") == doctest::Approx(first.volts(p, t, "b.neg")).epsilon(1e-9));
  }
}

TEST_CASE("twice the length is twice the drop at the same current") {
  double drop_v[2];
  for (const int times : {1, 2}) {
    const std::string build = fmt::format("size: 2.5 mm2, length: {} m", 3 * times);
    Setup s(Drawing()
                .part("b", "battery, resistance: 10 mohm")
                .part("h", "horn, draws: 8 A, volts: 12 V")
                .wire("a", "b.pos", "h.a", build)
                .wire("c", "h.b", "b.neg", build));
    const OperatingPoint p = s.settle();
    drop_v[times - 1] = s.volts(p, "b.pos", "h.a") + s.volts(p, "h.b", "b.neg");
  }
  CHECK(drop_v[1] == doctest::Approx(2 * drop_v[0]).epsilon(1e-9));
}

TEST_CASE("switches in any order and a used network give what a fresh one gives") {
  Setup s(texts::of_file(SOURCE_ROOT + "/netlists/" + "orchard-cart" + ".yaml"));
  std::mt19937 dice(3);
  for (int i = 0; i < 200; ++i) {
    Situation x = s.situation();
    for (std::size_t p = 0; p < s.loom.parts.size(); ++p) {
      const std::size_t n = s.loom.parts[p].positions.size();
      if (n > 1) x.positions[p] = static_cast<std::int8_t>(dice() % n);
    }
    x.charge = dice() % 2 ? Charge::full : Charge::empty;
    if (dice() % 2) x.duty = DutyIndex{dice() % s.loom.duty.size()};
    Network fresh(s.circuit);
    CHECK(same(s.network.settle(x), fresh.settle(x)));
  }
}
