// Bounds on voltages against what settles, and what they spare the walk against a walk that spares nothing.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>
#include <random>

#include "bench.h"
#include "drawn.h"
#include "solve/fault_bounds.h"
#include "solve/fault_walk.h"
#include "texts.h"
#include "where.h"

using namespace loomproof;

namespace {

// Every design of the tests of rules and control that can be read, and every netlist.
std::vector<std::filesystem::path> all_designs() {
  std::vector<std::filesystem::path> files;
  for (const std::string& folder : {TESTS_DIR + "/rules", TESTS_DIR + "/control", SOURCE_ROOT + "/netlists"}) {
    for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
      const std::string name = entry.path().filename();
      if (name.ends_with(".yaml") && !name.ends_with(".ask.yaml")) files.push_back(entry.path());
    }
  }
  std::sort(files.begin(), files.end());
  return files;
}

std::string findings_of(const Loom& loom, const FaultWalk& walk) {
  std::string out;
  for (const WatchResult& w : walk.watches) {
    out += fmt::format("{} {}", static_cast<int>(w.watch.what), w.watch.index);
    for (const auto& [part, position] : w.watch.when) out += fmt::format(" {}={}", loom.part(part).name, position);
    for (const Sighting& s : w.by_fault) {
      out += fmt::format("\n  {} {} {} {:.6g}", describe(loom, walk.faults[*s.fault]), s.moved, s.announced, s.value);
      for (std::int8_t p : s.situation.positions) out += fmt::format(" {}", p);
    }
    out += "\n";
  }
  return out;
}

}  // namespace

// The outside check is Kirchhoff's: FaultNetwork solves the equations, and is held against ngspice in its own test.
TEST_CASE("no two nodes of a settled state lie further apart than their bound") {
  const auto files = all_designs();
  std::mt19937 dice(17);
  std::size_t looked = 0, near = 0, dead = 0, failed = 0;
  for (std::size_t i = 0; i < files.size(); i += every(12)) {
    const ReadResult read = read_loom(texts::of_file(files[i]), "test");
    if (!read.loom) continue;
    CAPTURE(files[i].string());
    const Circuit circuit = build_circuit(*read.loom);
    const std::vector<Fault> faults = single_faults(circuit);
    FaultNetwork network(circuit, faults);
    VoltageBounds bounds(network.circuit(), network.lines());
    for (std::size_t f = dice() % 4; f < faults.size(); f += 4) {
      network.apply(&faults[f]);
      const std::vector<char> there =
          lines_there(network.lines(), laid_by(faults[f], network.circuit(), network.lines()));
      bounds.begin(there, true);
      const OperatingPoint& point = network.settle_from_rest(drawn(*read.loom, dice));
      if (!point.trouble.empty()) continue;
      bounds.look(point.logic);
      const auto nodes = static_cast<std::size_t>(network.circuit().nodes);
      for (int pair = 0; pair < 60; ++pair) {
        const int a = static_cast<int>(dice() % nodes), b = static_cast<int>(dice() % nodes);
        if (point.piece[a] != point.piece[b]) continue;
        const double v = std::fabs(point.node_v[a] - point.node_v[b]);
        const double enough = v * (1 - 1e-6) - 1e-6;  // what the solution rounds
        const double bound = bounds.between(a, b, std::max(enough, 0.0));
        ++looked;
        near += bound < 1.5 * v ? 1 : 0;
        dead += bound == 0 ? 1 : 0;
        if (bound >= enough) continue;
        ++failed;
        CAPTURE(describe(*read.loom, faults[f]));
        CHECK_MESSAGE(bound >= enough, "nodes " << a << " and " << b << ": " << v << " V");
      }
    }
  }
  CHECK(failed == 0);
  CHECK(dead > looked / 20);  // or they are all too wide to tell anything
  MESSAGE(looked << " pairs, " << dead << " of them known to be at one voltage, " << near
                 << " within half as much again");
}

TEST_CASE("the walk finds with bounds what it finds without") {
  const auto files = all_designs();
  std::size_t found = 0, looms = 0, points = 0, whole_points = 0, differ = 0;
  for (std::size_t i = 0; i < files.size(); i += every(23)) {
    const ReadResult read = read_loom(texts::of_file(files[i]), "test");
    if (!read.loom) continue;
    const Circuit circuit = build_circuit(*read.loom);
    const FaultWalk cut = walk_faults(circuit), whole = walk_faults(circuit, 0, {.bounds = false});
    const std::string a = findings_of(*read.loom, cut), b = findings_of(*read.loom, whole);
    if (a != b) ++differ;
    CHECK_MESSAGE(a == b, files[i].string());
    for (std::size_t w = 0; w < cut.watches.size(); ++w) {
      found += cut.watches[w].by_fault.size();
      CHECK_MESSAGE(cut.watches[w].unsettled <= whole.watches[w].unsettled, files[i].string());
    }
    points += cut.points;
    whole_points += whole.points;
    ++looms;
  }
  CHECK(differ == 0);
  CHECK_MESSAGE(found > 0, "nothing to compare");
  CHECK(points < whole_points / 2);
  MESSAGE(looms << " looms, " << found << " sightings, each the same; " << points << " points in place of "
                << whole_points);
}
