// The network with one fault in it, settled many times over: the laws and the logic of Network, made for a walk.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "solve/branch_laws.h"
#include "solve/circuit.h"
#include "solve/contact_blocks.h"
#include "solve/fault.h"
#include "solve/fault_lines.h"
#include "solve/island.h"
#include "solve/logic.h"
#include "solve/operating_point.h"
#include "solve/record_memo.h"

namespace loomproof {

/// Keeps a copy of the loom and the circuit, in which every stud of the frame is a node of its own (after those of the
/// circuit), so that a point of it can be read with circuit() by the same functions as any other. What was settled
/// before only saves time: no result depends on it.
class FaultNetwork {
 public:
  /// @param faults  those that apply() will be called with
  FaultNetwork(const Circuit&, const std::vector<Fault>& faults);
  FaultNetwork(const FaultNetwork&) = delete;
  FaultNetwork& operator=(const FaultNetwork&) = delete;

  /// Puts the fault in, after taking the last one out; nullptr: none.
  void apply(const Fault*);
  bool has_fault() const { return fault_ != nullptr; }

  /// What another one of the same circuit and faults has settled is known here as well; it must not settle more
  /// meanwhile.
  void add_base(const FaultNetwork& base);

  /// Whether what starts as something before it did, with the same fault, is settled again all the same.
  void forget_all(bool forget) { forgets_ = forget; }
  /// States of the logic that were not settled again, so far.
  std::size_t recalls() const { return recalls_; }

  /// What the nonlinear branches do; where a bistable load remembers.
  struct Modes {
    BranchLaws::State laws;
    std::vector<double> out_a;  // by converter
  };

  /// From rest: every coil off, no source loaded.
  /// @param guess  modes to start from; of what is bistable nothing is taken from it, so that it saves time and alters
  ///               no result
  const OperatingPoint& settle_from_rest(const Situation&, const Modes* guess = nullptr);
  /// From a settled state, its switches standing as `situation` says from now on.
  /// @param node_v, piece  of that state, for conditions that look at a voltage
  const OperatingPoint& settle_from(const Situation&, const LogicState&, const Modes&,
                                    const std::vector<double>& node_v, const std::vector<int>& piece);
  /// From a state of the logic as it stands, moved by the fault alone: with one in, it must be of this situation.
  const OperatingPoint& settle_from(const Situation&, const LogicState&, const Modes&);
  /// Again, from where it stands.
  const OperatingPoint& settle_again();

  /// States between which the last settling went to and fro; empty when it came to rest.
  const std::vector<LogicState>& cycle() const { return cycle_; }
  /// Solves the network once in a given state of the logic, as in a step of a chatter.
  const OperatingPoint& hold(const LogicState&);

  const OperatingPoint& point() const { return point_; }
  Modes modes() const { return {laws_.state(), point_.converter_out_a}; }
  const Circuit& circuit() const { return circuit_; }
  const FaultLines& lines() const { return lines_; }
  const std::vector<std::size_t>& blown() const { return blown_; }  // fuses that the fault has opened

  /// Sets what the fault decides by itself, as settle_from() does with the state that it is given.
  void force(LogicState& logic) const { logic_.force(logic); }

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
  static constexpr std::size_t most_memo_bytes = std::size_t{2} << 20;
  struct Active {
    std::size_t line = 0;
    bool moved = true;      // its state, since the network was last solved
    std::size_t input = 0;  // of a converter's input: its output among the actives, and one more; else 0
    double seen_v = 0;      // what it was last looked at with
    bool seen_path = false;
  };
  struct ContactLine {
    std::size_t line = 0, contact = 0;
    double siemens = 0;  // closed
  };

  bool lasts(std::size_t line) const;
  Island laid_island() const;
  double line_conductance(std::size_t line) const;
  void open_line(std::size_t line);
  void close_line(std::size_t line);
  void lay_bridge(std::size_t line);
  void let_fuses_blow(bool);
  void remove_fault();
  void hold_contact(std::size_t contact, bool closed);
  void begin(const Situation&);
  void forget_point();
  void close_contacts();
  void move_actives();
  bool solve_linear();
  void show_watched();
  void show_rest();
  void solve_nonlinear();
  void write_key();
  bool recall();
  void keep();
  void settle_step();
  void settle_logic(bool moved);
  bool overloads(std::size_t fuse) const;
  bool blow_fuses();
  const OperatingPoint& settle(bool moved);
  double across(const FaultLine& l) const { return point_.node_v[l.a] - point_.node_v[l.b]; }
  bool look_at(Active&);
  bool has_path(const FaultLine& l) const { return point_.piece[l.a] == point_.piece[l.b]; }

  Loom loom_;
  Circuit circuit_;
  const Elements& given_;  // of the loom as it was read
  FaultLines lines_;
  BranchLaws laws_;
  Logic logic_;
  bool may_blow_ = false;  // a fuse, by the fault; asked for while the island is laid
  Island island_;          // all of the circuit: a bridge may join any two islands of it
  std::vector<Active> actives_;
  std::vector<ContactLine> contacts_;
  std::vector<std::size_t> dividers_, digital_inputs_;

  const Fault* fault_ = nullptr;
  std::vector<char> open_;  // by line: by the fault, or a fuse that it blew
  std::vector<std::int8_t> held_contact_;
  std::size_t bridge_ = 0;       // the line that is on; 0: none
  bool alters_circuit_ = false;  // the fault opens what nothing opens without it
  std::vector<std::size_t> blown_;

  OperatingPoint point_, before_;
  bool unseen_ = true;  // the point does not show yet what the island last found
  bool forgets_ = false;
  bool recalled_ = false;  // the point is from memory: the island has not solved it
  std::size_t recalls_ = 0;
  // Of the circuit as it is without any fault, and of that which the fault leaves, for as long as it is in.
  RecordMemo own_memo_ = RecordMemo(most_memo_bytes), fault_memo_ = RecordMemo(most_memo_bytes);
  RecordMemo* memo_ = &own_memo_;  // the one in which the state under way belongs
  ContactBlocks blocks_;
  std::vector<std::uint8_t> carries_;           // by contact
  std::vector<char> is_idle_;                   // by line: a contact that carries nothing
  std::vector<std::size_t> powers_;             // loads of constant power
  std::vector<std::uint8_t> modes_, is_blown_;  // scratch
  std::vector<double> numbers_;
  std::size_t numbers_each_ = 0;  // of a record
  LogicState next_;
  std::vector<LogicState> seen_, cycle_;
};

}  // namespace loomproof
