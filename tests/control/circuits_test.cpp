// Control circuits against their truth tables, by the network of the walk and by the general one.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "control/truth.h"
#include "rules/design.h"
#include "solve/fault_walk.h"
#include "solve/network.h"
#include "texts.h"
#include "units/parse.h"

namespace {

namespace fs = std::filesystem;
using namespace loomproof;
using loomproof::test::Design;
using loomproof::test::Truth;
using loomproof::test::TruthStep;

const fs::path folder = fs::path(TESTS_DIR) / "control";

class Bench {
 public:
  explicit Bench(const Loom& loom)
      : loom_(loom), circuit_(build_circuit(loom)), faults_(single_faults(circuit_)), network_(circuit_, faults_) {}

  /// What is wrong with the step; empty when it answers as it should.
  std::string run(const TruthStep& step) {
    Situation situation;
    situation.positions.assign(loom_.parts.size(), 0);
    for (const auto& [name, position] : step.set) {
      const auto part = loom_.find_part(name);
      if (!part) return "no part '" + name + "'";
      const auto& all = loom_.part(*part).positions;
      const auto at = std::find(all.begin(), all.end(), position);
      if (at == all.end()) return "no position '" + position + "' of '" + name + "'";
      situation.positions[part->value] = static_cast<std::int8_t>(at - all.begin());
    }
    const Fault* fault = nullptr;
    for (const Fault& f : faults_) {
      if (!step.fault.empty() && describe(loom_, f) == step.fault) fault = &f;
    }
    if (!step.fault.empty() && fault == nullptr) return "no fault \"" + step.fault + "\"";
    const bool from_rest = step.from_rest || before_.logic.contact_closed.empty();
    network_.apply(fault);
    const OperatingPoint point =
        from_rest ? network_.settle_from_rest(situation)
                  : network_.settle_from(situation, before_.logic, modes_, before_.node_v, before_.piece);
    modes_ = network_.modes();
    before_ = point;
    burnt_ = fault != nullptr && fault->type == FaultType::lamp_out ? std::optional(fault->index) : std::nullopt;
    if (fault == nullptr && from_rest) {
      if (const std::string off = against_general(situation, point); !off.empty()) return off;
    }
    for (const std::string& wanted : step.expect) {
      const std::string wrong = check(point, wanted);
      if (!wrong.empty()) return wrong;
    }
    return {};
  }

 private:
  std::string against_general(const Situation& situation, const OperatingPoint& point) {
    Network general(circuit_);
    const OperatingPoint other = general.settle(situation);
    if (other.trouble.empty() != point.trouble.empty()) return "the two networks disagree whether it settles";
    if (!point.trouble.empty()) return {};
    for (int a = 0; a < circuit_.nodes; ++a) {
      const double mine = point.node_v[a] - point.node_v[point.piece[a]];
      const int ground = point.piece[a];
      if (ground >= circuit_.nodes) continue;
      const double theirs = other.node_v[a] - other.node_v[ground];
      if (std::fabs(mine - theirs) > 2e-3)
        return fmt::format("node {}: {} V, the general network says {} V", a, mine, theirs);
    }
    return {};
  }

  std::string check(const OperatingPoint& point, const std::string& wanted) const {
    if (wanted == "chatters") return point.trouble.starts_with("chatters") ? "" : "it comes to rest";
    if (!point.trouble.empty()) return point.trouble;
    const std::size_t eq = wanted.find('=');
    const std::string name = wanted.substr(0, eq), value = wanted.substr(eq + 1);
    const Elements& all = loom_.elements;
    if (const std::size_t comma = name.find(','); comma != std::string::npos) {
      const auto a = loom_.find_terminal(name.substr(0, comma)), b = loom_.find_terminal(name.substr(comma + 1));
      if (!a || !b) return "no terminal in " + name;
      const auto v = voltage(network_.circuit(), point, *a, *b);
      const double want = std::stod(value), within = std::stod(value.substr(value.find('/') + 1)) / 100;
      const double is = v ? v->value : 0;
      return std::fabs(is - want) <= within * std::fabs(want) + 1e-4 ? "" : fmt::format("{} is {} V", name, is);
    }
    const auto state = [&](bool on) {
      return (value == "on") == on ? std::string() : name + (on ? " is on" : " is off");
    };
    const auto named = [&](const Element& e) {
      return loom_.part(e.part).name == name || loom_.part(e.part).name + "." + e.name == name;
    };
    for (std::size_t i = 0; i < all.coils.size(); ++i) {
      if (named(all.coils[i])) return state(point.logic.coil_on[i] != 0);
    }
    for (std::size_t i = 0; i < all.inputs.size(); ++i) {
      if (named(all.inputs[i])) return state(point.logic.input_on[i] != 0);
    }
    for (std::size_t i = 0; i < all.outputs.size(); ++i) {
      if (named(all.outputs[i])) return state(point.logic.output_on[i] != 0);
    }
    for (const Load& l : all.loads) {
      if (!named(l)) continue;
      const auto v = voltage(network_.circuit(), point, l.pos, l.neg);
      const bool burnt = burnt_ && *burnt_ == static_cast<std::size_t>(&l - all.loads.data());
      const double share = v && !burnt ? std::fabs(v->value) / *l.rated_v : 0;
      const std::string is = share >= 0.5 ? "lit" : share >= 0.1 ? "glows" : "dark";
      return is == value ? "" : fmt::format("{} is {} ({:.3f} of its voltage)", name, is, share);
    }
    return "nothing is called '" + name + "'";
  }

  const Loom& loom_;
  Circuit circuit_;
  std::vector<Fault> faults_;
  FaultNetwork network_;
  OperatingPoint before_;
  std::optional<std::size_t> burnt_;
  FaultNetwork::Modes modes_;
};

std::string verdict_line(const Obligation& owed) {
  return fmt::format("{} {} {}", name_of(owed.verdict.value_or(Verdict::undecided)), owed.rule->slug,
                     owed.subject.name);
}

}  // namespace

TEST_CASE("every circuit answers as its truth table, switch state by switch state and fault by fault") {
  const auto circuits = loomproof::test::designs_in(folder);
  CHECK(circuits.size() >= 12);
  std::size_t answers = 0;
  for (const fs::path& path : circuits) {
    const std::string name = path.stem().string();
    const Truth truth = loomproof::test::truth_of(folder / (name + ".truth"));
    CHECK_MESSAGE(truth.has_source, name, " names no source of its answers");
    CHECK_MESSAGE(!truth.steps.empty(), name, " has no truth table");
    for (const std::string& fault : truth.faults) FAIL_CHECK(fault);
    const Design design(path);
    std::string unread;
    for (const auto& f : design.read.faults) unread += fmt::format("\n  line {}: {}", f.at.line, f.what);
    CHECK_MESSAGE(design.read.loom.has_value(), name, " cannot be read:", unread);
    if (!design.read.loom) continue;
    Bench bench(*design.read.loom);
    for (const TruthStep& step : truth.steps) {
      const std::string wrong = bench.run(step);
      CHECK_MESSAGE(wrong.empty(), name, ".truth:", step.line, ": ", wrong);
      answers += step.expect.size();
    }
    std::set<std::string> found;
    for (const Obligation* owed : design.judgement.findings()) {
      if (owed->rule->group == Group::control) found.insert(verdict_line(*owed));
    }
    for (const std::string& line : truth.finds) CHECK_MESSAGE(found.erase(line) == 1, name, ": not found: ", line);
    for (const std::string& line : found) FAIL_CHECK(name, ": found and not in its table: ", line);
    for (const std::string& line : truth.holds) {
      const auto& all = design.judgement.obligations;
      CHECK_MESSAGE(
          std::any_of(all.begin(), all.end(), [&](const Obligation& o) { return verdict_line(o) == "holds " + line; }),
          name, ": does not hold: ", line);
    }
    const FaultWalk walk = walk_faults(build_circuit(*design.read.loom));
    std::set<std::string> remembers;
    for (std::size_t c : walk.remembers)
      remembers.insert(design.read.loom->part(design.read.loom->elements.coils[c].part).name);
    const std::set<std::string> wanted(truth.remembers.begin(), truth.remembers.end());
    if (!truth.remembers.empty()) CHECK_MESSAGE(remembers == wanted, name, ": other coils remember");
  }
  MESSAGE(circuits.size() << " circuits, " << answers << " answers");
}

TEST_CASE("a story whose circuit remembers tells the moves from rest that lead there") {
  const ReadResult read = read_loom(texts::of_file(TESTS_DIR + "/control/held-in.yaml"), "held-in.yaml");
  REQUIRE(read.loom.has_value());
  const Judgement answer = judge(solve(*read.loom));
  const auto about = [&](std::string_view subject) {
    return *std::find_if(answer.obligations.begin(), answer.obligations.end(), [&](const Obligation& owed) {
      return owed.rule->slug == "bus-off" && owed.subject.name == subject && owed.verdict == Verdict::broken;
    });
  };
  // By hand: only key and start together take the contactor in; after that all may fall back to rest.
  const Obligation key = about("key");
  CHECK(key.moves == std::vector<std::string>{"with 'key' on and 'start' pressed", "'key' to off", "'start' to released"});
  CHECK(std::any_of(key.notes.begin(), key.notes.end(), [](const Note& n) {
    return n.text == "it remembers; from rest: with 'key' on and 'start' pressed, then 'key' to off, then 'start' to "
                     "released";
  }));
  const std::vector<std::string> stop = about("stop").moves;
  CHECK(std::find(stop.begin(), stop.end(), "'stop' to stop") != stop.end());
}

TEST_CASE("a brake lamp that the controller lights is watched under every single fault") {
  const std::string name = "/rules/brake-lamp/near-regen-lamp-dark.yaml";
  const ReadResult read = read_loom(texts::of_file(TESTS_DIR + name), name);
  REQUIRE(read.loom.has_value());
  const Judgement answer = judge(solve(*read.loom));
  std::set<std::string> darkens;
  for (const SinglePoint& point : answer.single_points) {
    if (point.happens == "'lamp' stays dark while the motor brakes") darkens.insert(point.fault);
  }
  // By hand: whatever the lamp's current by the relay passes, and the coil's. A fault that takes the feed of the key
  // takes the controller along, which then does not brake.
  CHECK(darkens == std::set<std::string>{"'B2' open", "'L4' open", "'S1' open", "'S2' open", "'S3' open", "'S4' open",
                                         "'S5' open", "'drive.lamp_driver' not closing", "'slow.no' not closing",
                                         "'slow' coil open"});
}
