// The network of the walk against the general one, against looms in which the fault was built in, and against ngspice.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <random>

#include "bench.h"
#include "drawn.h"
#include "solve/fault_walk.h"
#include "spice.h"
#include "spice_deck.h"
#include "texts.h"
#include "where.h"

using namespace loomproof;

namespace {

Loom demo(const std::string& name) {
  return loom_of(texts::of_file(SOURCE_ROOT + "/netlists/" + name + ".yaml"));
}

Situation one_moved(const Loom& loom, Situation s, std::mt19937& dice) {
  for (int tried = 0; tried < 1000; ++tried) {
    const std::size_t p = dice() % loom.parts.size();
    if (loom.parts[p].positions.size() < 2) continue;
    s.positions[p] = static_cast<std::int8_t>(dice() % loom.parts[p].positions.size());
    break;
  }
  return s;
}

// Those of the folders, and the demos.
std::vector<std::filesystem::path> designs_of(std::initializer_list<const char*> folders) {
  std::vector<std::filesystem::path> files;
  for (const char* folder : folders) {
    for (const auto& entry : std::filesystem::directory_iterator(TESTS_DIR + folder)) {
      const std::string name = entry.path().filename();
      if (name.ends_with(".yaml") && !name.ends_with(".ask.yaml")) files.push_back(entry.path());
    }
  }
  std::sort(files.begin(), files.end());
  for (const char* name : {"orchard-cart", "parcel-trike", "marshals-quad"})
    files.push_back(SOURCE_ROOT + "/netlists/" + name + ".yaml");
  return files;
}

double largest_source_v(const Loom& loom) {
  double v = 1;
  for (const Source& s : loom.elements.sources) v = std::max(v, s.full_v ? *s.full_v : 0.0);
  return v;
}

}  // namespace

TEST_CASE("without a fault it settles where the general network does, drawn situations of every demo") {
  for (const char* name : {"orchard-cart", "marshals-quad", "parcel-trike"}) {
    const Loom loom = demo(name);
    const Circuit circuit = build_circuit(loom);
    Network general(circuit);
    FaultNetwork mine(circuit, single_faults(circuit));
    std::mt19937 dice(7);
    double worst = 0;
    for (int i = 0; i < 60; ++i) {
      const Situation s = drawn(loom, dice);
      const OperatingPoint theirs = general.settle(s);
      const OperatingPoint& own = mine.settle_from_rest(s);
      REQUIRE(theirs.trouble == own.trouble);
      CHECK(theirs.logic == own.logic);
      for (int n = 0; n < circuit.nodes; ++n) {
        if (own.piece[n] >= circuit.nodes) continue;
        const double a = own.node_v[n] - own.node_v[own.piece[n]];
        const double b = theirs.node_v[n] - theirs.node_v[own.piece[n]];
        worst = std::max(worst, std::fabs(a - b));
      }
    }
    // Studs are bolted joints of 20 uohm here and none there.
    CHECK(worst < 5e-3);
    MESSAGE(std::string(name) << ": worst difference " << worst << " V");
  }
}

TEST_CASE("a wire that is open settles as the loom without that wire does") {
  const Loom loom = demo("orchard-cart");
  const Circuit circuit = build_circuit(loom);
  const std::vector<Fault> faults = single_faults(circuit);
  FaultNetwork mine(circuit, faults);
  std::mt19937 dice(11);
  for (const Fault& f : faults) {
    if (f.type != FaultType::wire_open || f.index % 5 != 0) continue;
    Loom less = loom;
    less.wires.erase(less.wires.begin() + static_cast<std::ptrdiff_t>(f.index));
    const Circuit without = build_circuit(less);
    Network general(without);
    mine.apply(&f);
    for (int i = 0; i < 6; ++i) {
      const Situation s = drawn(loom, dice);
      const OperatingPoint theirs = general.settle(s);
      const OperatingPoint& own = mine.settle_from_rest(s);
      CAPTURE(describe(loom, f));
      REQUIRE(theirs.trouble == own.trouble);
      CHECK(theirs.logic == own.logic);
      // Through terminals that both know, against the same other one.
      for (std::size_t t = 1; t < loom.terminals.size(); ++t) {
        const auto a = voltage(without, theirs, TerminalIndex{t}, TerminalIndex{0});
        const auto b = voltage(mine.circuit(), own, TerminalIndex{t}, TerminalIndex{0});
        REQUIRE(a.has_value() == b.has_value());
        if (a) CHECK(std::fabs(a->value - b->value) < 5e-3);
      }
    }
  }
}

TEST_CASE("ngspice: 200 drawn situations of the demos, most with a fault in") {
  std::mt19937 dice(2024);
  double worst = 0;
  int compared = 0, recalled = 0;
  for (const char* name : {"orchard-cart", "marshals-quad", "parcel-trike"}) {
    const Loom loom = demo(name);
    const Circuit circuit = build_circuit(loom);
    std::vector<Fault> faults = single_faults(circuit);
    FaultNetwork network(circuit, faults);
    std::erase_if(faults, [](const Fault& f) {
      // Their laws are the elements' own; those left out alter an element, which the deck does not know.
      return f.type == FaultType::coil_open || f.type == FaultType::lamp_out || f.type == FaultType::supply_lost ||
             f.type == FaultType::converter_dead;
    });
    const int wanted = std::string(name) == "parcel-trike" ? 66 : 67;
    for (int i = 0; i < wanted;) {
      const Fault& f = faults[dice() % faults.size()];
      network.apply(i % 4 == 0 ? nullptr : &f);
      const Situation s = drawn(loom, dice);
      // With something like it in its memory, so that what it recalls is looked at too.
      for (int k = 0; k < 4; ++k) network.settle_from_rest(one_moved(loom, s, dice));
      const std::size_t recalls = network.recalls();
      const OperatingPoint& point = network.settle_from_rest(s);
      if (!point.trouble.empty()) continue;  // chatter has no operating point
      recalled += network.recalls() > recalls ? 1 : 0;
      ++i;
      Circuit with = network.circuit();
      std::vector<char> there(with.branches.size(), 0);
      std::string links;
      int number = 0;
      std::size_t branch = 0;
      for (const FaultNetwork::Edge& e : network.edges()) {
        if (e.link) {
          links += fmt::format("Rlink{} {} {} {:.12g}\n", number++, laws::node_name(e.a), laws::node_name(e.b), e.ohm);
          continue;
        }
        while (with.branches[branch].type != e.type || with.branches[branch].index != e.index) ++branch;
        there[branch] = 1;
      }
      // The deck takes every element by its own law from the loom: what is open is made endless there.
      Loom altered = *with.loom;
      with.loom = &altered;
      for (std::size_t b = 0; b < with.branches.size(); ++b) {
        if (there[b] != 0) continue;
        const Branch& gone = with.branches[b];
        if (gone.type == BranchType::wire) altered.wires[gone.index].length = Placed<Metre>{Metre(1e15), {}, {}};
        if (gone.type == BranchType::fuse) altered.elements.fuses[gone.index].ohm.value = 1e12;
      }
      std::vector<std::string> vectors;
      for (int n = 0; n < with.nodes; ++n) vectors.push_back("v(" + laws::node_name(n) + ")");
      const auto found = spice::operating_point(laws::deck_of(with, point) + links, vectors);
      for (int n = 0; n < with.nodes; ++n) {
        const int ground = point.piece[n];
        const double theirs = found.at(vectors[n]) - found.at(vectors[ground]);
        const double off = std::fabs(theirs - (point.node_v[n] - point.node_v[ground])) / largest_source_v(loom);
        worst = std::max(worst, off);
        CHECK_MESSAGE(off < 5e-3, name, ": node ", n, i % 4 == 1 ? std::string() : describe(loom, f));
      }
      ++compared;
    }
  }
  CHECK(compared >= 200);
  CHECK(recalled >= 50);
  MESSAGE(compared << " situations, " << recalled << " of them recalled in part or whole, worst deviation from ngspice "
                   << worst << " of the source voltage");
}

// Held contacts and bridges that carry nothing leave circuits that are met without any fault.
TEST_CASE("what was settled without a fault is known with one that leaves the circuit as it is") {
  const Loom loom = demo("marshals-quad");
  const Circuit circuit = build_circuit(loom);
  const std::vector<Fault> faults = single_faults(circuit);
  std::mt19937 dice(11);
  std::map<FaultType, int> known;
  for (const Fault& f : faults) {
    FaultNetwork network(circuit, faults);
    const Situation s = drawn(loom, dice);
    network.settle_from_rest(s);
    network.apply(&f);
    const std::size_t before = network.recalls();
    network.settle_from_rest(s);
    if (network.recalls() > before) ++known[f.type];
  }
  for (FaultType type : {FaultType::switch_stuck, FaultType::contact_welded, FaultType::wire_on_frame})
    CHECK_MESSAGE(known[type] > 0, name_of(type));
}

TEST_CASE("what it recalls is what it would settle to") {
  const auto files = designs_of({"/control", "/rules/drive-cut", "/rules/brake-input", "/rules/precharge"});
  std::mt19937 dice(5);
  double worst = 0;
  std::size_t points = 0, recalls = 0, fewer = 0;
  for (std::size_t i = 0; i < files.size(); i += every(5)) {
    const Loom loom = loom_of(texts::of_file(files[i]));
    CAPTURE(files[i].string());
    const Circuit circuit = build_circuit(loom);
    const std::vector<Fault> faults = single_faults(circuit);
    FaultNetwork mine(circuit, faults), forgetful(circuit, faults);
    forgetful.forget_all(true);
    const auto look = [&](const Fault* f) {
      CAPTURE((f != nullptr ? describe(loom, *f) : "no fault"));
      mine.apply(f);
      forgetful.apply(f);
      Situation s = drawn(loom, dice);
      for (int k = 0; k < 12; ++k) {
        const OperatingPoint& own = mine.settle_from_rest(s);
        const OperatingPoint& theirs = forgetful.settle_from_rest(s);
        REQUIRE(own.trouble == theirs.trouble);
        REQUIRE(mine.blown() == forgetful.blown());
        CHECK(own.logic == theirs.logic);
        CHECK(own.piece == theirs.piece);
        const auto apart = [&](const std::vector<double>& a, const std::vector<double>& b) {
          REQUIRE(a.size() == b.size());
          for (std::size_t n = 0; n < a.size(); ++n)
            worst = std::max(worst, std::fabs(a[n] - b[n]) / std::max(1.0, std::fabs(b[n])));
        };
        apart(own.node_v, theirs.node_v);
        apart(own.source_a, theirs.source_a);
        apart(own.load_a, theirs.load_a);
        apart(own.converter_in_a, theirs.converter_in_a);
        apart(own.converter_out_a, theirs.converter_out_a);
        for (std::size_t b = 0; b < mine.circuit().branches.size(); ++b)
          worst = std::max(worst, std::fabs(mine.current_a(b) - forgetful.current_a(b)) /
                                      std::max(1.0, std::fabs(forgetful.current_a(b))));
        ++points;
        s = one_moved(loom, s, dice);
      }
    };
    look(nullptr);
    for (std::size_t f = 0; f < faults.size(); f += 3) look(&faults[f]);
    look(nullptr);
    recalls += mine.recalls();
    fewer += forgetful.recalls();
  }
  CHECK(fewer == 0);
  CHECK(recalls > points / 2);
  CHECK(worst < 1e-6);  // currents settle to 1e-7 of themselves
  MESSAGE(points << " points, " << recalls << " steps recalled, worst difference " << worst);
}

namespace {

// Everything that the walk says, for comparison word by word.
std::string account_of(const Loom& loom, const FaultWalk& walk, bool states, bool points = true) {
  std::string out = states ? fmt::format("{} {}\n", walk.faults.size(), walk.states) : "";
  if (states && points) out += fmt::format("{} {} {}\n", walk.cut, walk.bounded, walk.points);
  for (const WatchResult& w : walk.watches) {
    out += fmt::format("{} {}:", static_cast<int>(w.watch.what), w.watch.index);
    for (const auto& [part, position] : w.watch.when) out += fmt::format(" {}={}", loom.part(part).name, position);
    out += w.without_fault ? " broken" : "";
    for (const Sighting& s : w.by_fault) {
      out += "\n  " + describe(loom, walk.faults[*s.fault]);
      if (states) {
        out += fmt::format(" {} {} {:.6g}", s.moved, s.announced, s.value);
        for (std::int8_t p : s.situation.positions) out += fmt::format(" {}", p);
      }
    }
    out += "\n";
  }
  return out;
}

}  // namespace

TEST_CASE("the walk says the same with one thread, two and five") {
  const Loom loom = demo("parcel-trike");
  const Circuit circuit = build_circuit(loom);
  const std::string one = account_of(loom, walk_faults(circuit, 1), true);
  CHECK(one == account_of(loom, walk_faults(circuit, 2), true));
  CHECK(one == account_of(loom, walk_faults(circuit, 5), true));
}

TEST_CASE("cut by cones it finds what it finds when every switch and every fault is walked") {
  std::size_t found = 0;
  for (const char* name : {"brake-input/near-lamp-and-drive", "throttle-return/wide-window", "drive-cut/one-way"}) {
    const Loom loom = loom_of(texts::of_file(TESTS_DIR + "/rules/" + name + ".yaml"));
    const Circuit circuit = build_circuit(loom);
    const FaultWalk cut = walk_faults(circuit), whole = walk_faults(circuit, 0, {.cones = false});
    CHECK(cut.points <= whole.points);
    // The full walk moves every switch, and so derives watches of switches that the cones leave out: none may be
    // broken.
    const std::string a = account_of(loom, cut, false), b = account_of(loom, whole, false);
    CHECK_MESSAGE(a == b, name);
    for (const WatchResult& w : cut.watches) found += w.by_fault.size();
  }
  CHECK_MESSAGE(found > 0, "nothing to compare");
}

TEST_CASE("what it does not settle would have changed nothing") {
  const auto files = designs_of({"/control", "/rules/drive-cut", "/rules/brake-input", "/rules/throttle-return"});
  const WalkShortcuts none{.classes = false, .bounds = false, .meeting = false, .hints = false, .memory = false};
  std::size_t found = 0, looms = 0;
  for (std::size_t i = 0; i < files.size(); i += every(5)) {
    const Loom loom = loom_of(texts::of_file(files[i]));
    const Circuit circuit = build_circuit(loom);
    const FaultWalk cut = walk_faults(circuit), whole = walk_faults(circuit, 0, none);
    const std::string a = account_of(loom, cut, true, false), b = account_of(loom, whole, true, false);
    CHECK_MESSAGE(a == b, files[i].string());
    for (const WatchResult& w : cut.watches) found += w.by_fault.size();
    ++looms;
  }
  CHECK_MESSAGE(found > 0, "nothing to compare");
  MESSAGE(looms << " looms, " << found << " sightings, each the same with and without the shortcuts");
}
