// What the page stores of faults, unpacked as its script does, against the dictionary and against networks of their
// own.
#include "show/report_faults.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>

#include "read/read.h"
#include "solve/fault_network.h"

using namespace loomproof;
using Json = nlohmann::ordered_json;

namespace {

struct Demo {
  Loom loom;
  Solved solved;
  FaultDictionary dictionary;
  report::Explorer explorer;

  explicit Demo(const std::string& name) : loom(loom_of(name)), solved(solve(loom)) {
    dictionary = fault_dictionary(solved);
    const auto made = report::explorer_of(solved);
    REQUIRE(made);
    explorer = *made;
  }
  static Loom loom_of(const std::string& name) {
    std::ifstream file(std::string(SOURCE_ROOT) + "/netlists/" + name, std::ios::binary);
    std::ostringstream text;
    text << file.rdbuf();
    ReadResult read = read_loom(text.str(), name);
    REQUIRE(read.loom);
    return *std::move(read.loom);
  }
};

std::optional<double> volts_of(const Json& tenths) {
  return tenths.is_null() ? std::nullopt : std::optional(tenths.get<double>() / 10);
}

// The reading of a wire: of its two ends that with the larger magnitude.
std::optional<double> reading(const Json& packed, std::size_t wire, const std::vector<Json>& points) {
  std::optional<double> best;
  for (const Json& p : packed["wires"][wire]) {
    const int at = p.get<int>();
    const std::optional<double> v = at == -1  ? std::optional(0.0)
                                    : at < -1 ? std::nullopt
                                              : volts_of(points[static_cast<std::size_t>(at)]);
    if (v && (!best || std::fabs(*v) > std::fabs(*best))) best = v;
  }
  return best;
}

std::vector<Json> points_with(const Json& packed, std::size_t fault, std::size_t situation) {
  std::vector<Json> points(packed["sound"][situation].begin(), packed["sound"][situation].end());
  const Json& row = packed["faults"][fault];
  for (std::size_t i = 2; i < row.size(); i += 2) {
    if (row[i].get<std::size_t>() != situation) continue;
    const Json& r = packed["differences"][row[i + 1].get<std::size_t>()][2];
    for (std::size_t k = 0; k < r.size(); k += 2) points[r[k].get<std::size_t>()] = r[k + 1];
  }
  return points;
}

bool is_live(std::optional<double> v) {
  return v && std::fabs(*v) > 1;
}

std::size_t fault_named(const Json& packed, const std::string& name) {
  for (std::size_t f = 0; f < packed["faults"].size(); ++f) {
    if (packed["faults"][f][0] == name) return f;
  }
  FAIL("no fault " << name);
  return 0;
}

}  // namespace

TEST_CASE("without a fault the stored situations say of every wire what the explorer says") {
  for (const char* name : {"orchard-cart.yaml", "marshals-quad.yaml", "parcel-trike.yaml"}) {
    CAPTURE(name);
    const Demo demo(name);
    const auto packed = report::packed_faults(demo.solved, demo.dictionary, demo.explorer);
    REQUIRE(packed);
    CHECK((*packed)["coarse"] == false);
    std::size_t live = 0;
    for (std::size_t s = 0; s < demo.dictionary.situations.size(); ++s) {
      const Json& at = (*packed)["situations"][s];
      REQUIRE(at.size() == demo.explorer.knobs.size());
      const std::vector<Json> sound((*packed)["sound"][s].begin(), (*packed)["sound"][s].end());
      for (std::size_t w = 0; w < demo.loom.wires.size(); ++w) {
        const report::Cone& cone = demo.explorer.wire_volts[w].cone;
        std::size_t cell = 0;
        for (const std::size_t k : cone.knobs)
          cell = cell * demo.explorer.knobs[k].values.size() + at[k].get<std::size_t>();
        CAPTURE(demo.loom.wires[w].name);
        CAPTURE(demo.solved.describe(demo.dictionary.situations[s]));
        CHECK(is_live(reading(*packed, w, sound)) == (cone.table[cell] != '0'));
        live += cone.table[cell] != '0';
      }
    }
    CHECK(live > demo.loom.wires.size());
  }
}

TEST_CASE("with a fault every wire reads what a network of its own says, within what a meter tells") {
  for (const char* name : {"orchard-cart.yaml", "parcel-trike.yaml"}) {
    CAPTURE(name);
    const Demo demo(name);
    const Json packed = *report::packed_faults(demo.solved, demo.dictionary, demo.explorer);
    const std::vector<Fault> faults = single_faults(demo.solved.circuit);
    REQUIRE(packed["faults"].size() == faults.size());
    std::size_t looked = 0, differ = 0;
    for (std::size_t f = 0; f < faults.size(); f += 5) {
      FaultNetwork network(demo.solved.circuit, {faults[f]});
      network.apply(&faults[f]);
      for (std::size_t s = 0; s < demo.dictionary.situations.size(); s += 3) {
        const OperatingPoint& p = network.settle_from_rest(demo.dictionary.situations[s]);
        if (!p.trouble.empty()) continue;
        const std::vector<Json> points = points_with(packed, f, s);
        const std::vector<Json> sound(packed["sound"][s].begin(), packed["sound"][s].end());
        for (std::size_t w = 0; w < demo.loom.wires.size(); ++w) {
          std::optional<double> truth;
          for (const TerminalIndex t : {demo.loom.wires[w].from, demo.loom.wires[w].to}) {
            // The frame where it shares the circuit, else the negative of the traction pack.
            const Circuit& circuit = network.circuit();
            const int island = demo.solved.circuit.island_of[static_cast<std::size_t>(demo.solved.circuit.node(t))];
            int black = -1;
            if (demo.solved.circuit.island_of[static_cast<std::size_t>(demo.solved.circuit.frame_node)] == island) {
              black = demo.solved.circuit.frame_node;
            } else {
              for (const Source& source : demo.loom.elements.sources) {
                const int neg = demo.solved.circuit.node(source.neg);
                if (black < 0 && demo.solved.circuit.island_of[static_cast<std::size_t>(neg)] == island) black = neg;
              }
            }
            if (black < 0) continue;
            const auto red = static_cast<std::size_t>(circuit.node(t));
            if (p.piece[red] != p.piece[static_cast<std::size_t>(black)]) continue;
            const double v = p.node_v[red] - p.node_v[static_cast<std::size_t>(black)];
            if (!truth || std::fabs(v) > std::fabs(*truth)) truth = v;
          }
          const std::optional<double> stored = reading(packed, w, points);
          CAPTURE(demo.loom.wires[w].name);
          CAPTURE(describe(demo.loom, faults[f]));
          CHECK(stored.has_value() == truth.has_value());
          if (stored && truth) CHECK(std::fabs(*stored - *truth) <= telling_v + 0.05);
          differ += stored != reading(packed, w, sound);
          ++looked;
        }
      }
    }
    CHECK(looked > 10'000);
    CHECK(differ > 100);
  }
}

TEST_CASE("a stud that comes off the frame lifts what hangs on it, an open wire darkens what it feeds") {
  const Demo demo("orchard-cart.yaml");
  const Json packed = *report::packed_faults(demo.solved, demo.dictionary, demo.explorer);
  std::size_t lifted = 0;
  for (std::size_t f = 0; f < demo.dictionary.entries.size(); ++f) {
    const Fault& fault = demo.dictionary.entries[f].fault;
    if (fault.type != FaultType::ground_lost) continue;
    for (std::size_t s = 0; s < demo.dictionary.situations.size(); ++s) {
      const std::vector<Json> points = points_with(packed, f, s);
      for (std::size_t w = 0; w < demo.loom.wires.size(); ++w) {
        const Wire& wire = demo.loom.wires[w];
        if (wire.from.value != fault.index && wire.to.value != fault.index) continue;
        lifted += is_live(reading(packed, w, points));
      }
    }
  }
  CHECK(lifted > 0);
  // The drive's enable: with C3 open it is dark in every situation in which it was on.
  const std::size_t open = fault_named(packed, "'C3' open");
  CHECK(packed["faults"][open][1] == std::find_if(demo.loom.wires.begin(), demo.loom.wires.end(), [](const Wire& w) {
                                       return w.name == "C3";
                                     }) - demo.loom.wires.begin());
  CHECK(packed["faults"][open].size() > 2);
}

TEST_CASE("where room is short the readings go that leave a wire as live or dead as it was, and it says so") {
  const Demo demo("orchard-cart.yaml");
  const Json fine = *report::packed_faults(demo.solved, demo.dictionary, demo.explorer);
  const std::size_t room = fine.dump().size() - 1;
  const auto coarse = report::packed_faults(demo.solved, demo.dictionary, demo.explorer, room);
  REQUIRE(coarse);
  CHECK((*coarse)["coarse"] == true);
  CHECK(coarse->dump().size() < room);
  for (std::size_t f = 0; f < demo.dictionary.entries.size(); ++f) {
    for (std::size_t s = 0; s < demo.dictionary.situations.size(); ++s) {
      const std::vector<Json> a = points_with(fine, f, s), b = points_with(*coarse, f, s);
      for (std::size_t i = 0; i < a.size(); ++i) {
        if (is_live(volts_of(a[i])) != is_live(volts_of(b[i]))) FAIL_CHECK(demo.dictionary.points[i].terminal.value);
      }
    }
  }
  CHECK_FALSE(report::packed_faults(demo.solved, demo.dictionary, demo.explorer, 1000));
}
