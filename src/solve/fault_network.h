// The network with one fault in it, settled many times over: the same laws as Network, made for a walk.
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "solve/circuit.h"
#include "solve/fault_elimination.h"
#include "solve/fault.h"
#include "solve/logic.h"
#include "solve/operating_point.h"

namespace loomproof {

/// Solid contact between what must not touch, in ohm (common practice, no source).
inline constexpr double bridge_ohm = 10e-3;
/// A fuse that carries this many times its rated current opens before anything else is judged: within 5 s at the latest
/// for road-vehicle blades (ISO 8820-3 gate at 200 %).
inline constexpr double fuse_opens_at = 2.0;

/// Keeps a copy of the loom and the circuit, in which every stud of the frame is a node of its own (after those of the
/// circuit), so that a point of it can be read with circuit() by the same functions as any other.
class FaultNetwork {
 public:
  /// @param faults  those that apply() will be called with
  FaultNetwork(const Circuit&, const std::vector<Fault>& faults);
  FaultNetwork(const FaultNetwork&) = delete;
  FaultNetwork& operator=(const FaultNetwork&) = delete;

  /// Puts the fault in, after taking the last one out; nullptr: none.
  void apply(const Fault*);
  bool has_fault() const { return fault_ != nullptr; }

  /// What the nonlinear branches do; where a bistable load remembers.
  struct Modes {
    std::vector<std::uint8_t> source, out, diode, load_low, in_low;
    std::vector<double> load_a, in_a, out_a;
  };

  using Visit = std::function<void(const OperatingPoint&)>;

  /// From rest: every coil off, no source loaded.
  /// @param guess  modes to start from; of what is bistable nothing is taken from it, so that it saves time and alters
  ///               no result
  const OperatingPoint& settle_from_rest(const Situation&, const Modes* guess = nullptr);
  /// From a settled state, its switches standing as `situation` says from now on.
  /// @param node_v, piece  of that state, for conditions that look at a voltage; may be empty when nothing moved
  const OperatingPoint& settle_from(const Situation&, const LogicState&, const Modes&,
                                    const std::vector<double>& node_v, const std::vector<int>& piece);
  /// Again, from where it stands.
  const OperatingPoint& settle_again();

  /// States between which the last settling went to and fro; empty when it came to rest.
  const std::vector<LogicState>& cycle() const { return cycle_; }
  /// Solves the network once in a given state of the logic, as in a step of a chatter.
  const OperatingPoint& hold(const LogicState&);

  const OperatingPoint& point() const { return point_; }
  Modes modes() const;
  const Circuit& circuit() const { return circuit_; }
  const std::vector<std::size_t>& blown() const { return blown_; }  // fuses that the fault has opened

  /// Digital inputs that stand between their thresholds, where the hardware may read either.
  std::vector<std::size_t> undefined_inputs() const;
  void force_input(std::size_t, bool asserted);
  void free_input(std::size_t);

  /// What joins two nodes with the fault in: every branch that is not open for good, and the bridge that the fault
  /// lays.
  struct Edge {
    BranchType type = BranchType::wire;
    std::size_t index = 0;
    int a = 0, b = 0;
    bool link = false;  // a stud or a bridge; `type` and `index` say nothing then
    double ohm = 0;     // of a link
  };
  std::vector<Edge> edges() const;
  /// Nodes at which the fault alters the circuit.
  std::vector<int> touched() const;

  /// Current through a branch of circuit(), a to b; of loads, sources and converters what they draw or give.
  double current_a(std::size_t branch) const;

 private:
  enum Mode : std::uint8_t { off, volts, limit };
  struct Line {
    BranchType type = BranchType::wire;
    std::size_t index = 0;
    int a = 0, b = 0;
    double ohm = 0;
    std::size_t pair = 0;
    bool open = false;    // by the fault, or a fuse that it blew
    bool active = false;  // its state is found while settling
    bool moves = false;   // its conductance may change without a new fault
  };

  void lay_lines(const std::vector<Fault>& faults);
  void set_open(std::size_t line, bool open);
  void restate(std::size_t line);
  double conductance(const Line&) const;
  double injection(const Line&) const;
  double emf(const Source&) const;
  double out_watts(std::size_t converter) const;
  double load_amps(std::size_t load, double v) const;
  void refresh();
  void find_pieces();
  int top(int node);
  void solve_linear();
  bool update(const Line&);
  bool starve_cut_off();
  void solve_nonlinear();
  void settle_logic();
  void settle_fuses();
  LogicState next();
  void overlay(LogicState&) const;
  void thaw();
  void rest(const Modes* guess);
  void take_situation(const Situation&);
  double across(const Line& l) const { return point_.node_v[l.a] - point_.node_v[l.b]; }
  bool has_path(const Line& l) const { return point_.piece[l.a] == point_.piece[l.b]; }

  Loom loom_;
  Circuit circuit_;
  const Elements& given_;    // of the loom as it was read
  std::vector<Line> lines_;  // the circuit's branches, then links of the studs, then bridges
  std::size_t first_link_ = 0, first_bridge_ = 0;
  std::vector<std::size_t> chafe_line_;  // by wire
  std::vector<std::pair<std::pair<std::size_t, std::size_t>, std::size_t>> pin_line_;
  std::vector<std::size_t> stud_line_;  // by terminal
  std::vector<std::size_t> moving_, active_, fixed_;
  std::vector<double> g_;
  std::vector<std::vector<std::size_t>> at_node_, in_pair_;
  std::vector<std::size_t> contact_line_, fuse_line_, coil_line_, load_line_, source_line_, converter_in_line_,
      converter_out_line_;
  std::vector<std::size_t> stale_pairs_;
  std::vector<int> stale_nodes_;
  std::vector<std::uint8_t> pair_stale_, node_stale_;
  bool pieces_stale_ = true, base_stale_ = true;
  std::vector<int> up_, base_top_;
  std::vector<std::uint8_t> grounded_;
  std::optional<FaultElimination> elimination_;
  std::vector<double> rhs_;

  const Fault* fault_ = nullptr;
  std::size_t bridge_ = 0;  // the line that is on; 0: none
  std::vector<std::int8_t> forced_contact_;
  std::optional<std::size_t> dead_source_, dead_converter_;
  std::vector<std::size_t> blown_;

  OperatingPoint point_;
  Modes modes_;
  std::vector<std::uint8_t> load_flips_, in_flips_;
  std::vector<LogicState> seen_, cycle_;
};

}  // namespace loomproof
