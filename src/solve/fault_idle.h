// Which faults change nothing that anybody looks at, told from the circuit as a graph.
#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include "solve/blocks.h"
#include "solve/fault_network.h"

namespace loomproof {

/// Pairs of nodes between which the logic, a rule of `must` or a load that conducts nothing reads a voltage; what is
/// read across a branch of its own is not among them.
std::vector<std::pair<int, int>> observers_of(const Circuit&);

/// Current flows in a loop with a source in it and nowhere else: in a two-connected block of the graph that holds no
/// source every branch carries exactly nothing and all nodes stand at one voltage. In a given state of the logic a
/// fault therefore alters no voltage that the logic, a load or a watch looks at when what it opens lies in such a
/// block, and when what it bridges stood at one voltage already or belonged to two pieces that nothing looks across.
/// Where that is so in every state that a settling passes through, the settling with the fault in is the one without.
class IdleFaults {
 public:
  IdleFaults(const FaultNetwork&, const std::vector<Fault>&);

  /// Takes those out of `idle` (by fault) that alter something in this state.
  void narrow(const Situation&, const LogicState&, std::vector<bool>& idle);

 private:
  void find_blocks(const LogicState&);
  void close_block(const std::size_t* first, const std::size_t* last);  // lines
  bool may_open(std::size_t line) const;
  bool may_bridge(std::size_t line);
  bool alters_nothing(const Fault&, const Situation&, const LogicState&);

  enum class Flow : std::uint8_t { none, dead, parting, live };  // of a line; parting: dead, and looked across

  const Circuit& circuit_;
  const Elements& all_;
  const FaultLines& lines_;
  const std::vector<Fault>& faults_;
  std::vector<std::pair<int, int>> observers_;  // nodes between which somebody reads a voltage
  std::size_t words_ = 0;                       // of 64 observers
  std::vector<std::uint64_t> observed_;         // by node and word: observers that it is one end of
  BlockWalk walk_;
  std::vector<Flow> flow_;            // by line
  std::vector<int> piece_, up_;       // by node
  std::vector<std::uint64_t> split_;  // by node and word: observers with one end in its part of the tree
  std::vector<char> is_source_;       // by line
};

}  // namespace loomproof
