// The circuit as a graph (Boost.Graph): what reaches what, through which kinds of branch, over which length.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "solve/circuit.h"

namespace loomproof {

/// Nodes are the circuit's nodes; every edge carries the index of its branch. The Boost type stays inside
/// circuit_graph.cpp, since its headers would weigh on every rule's build.
class CircuitGraph {
 public:
  CircuitGraph();
  ~CircuitGraph();
  CircuitGraph(CircuitGraph&&) noexcept;
  CircuitGraph& operator=(CircuitGraph&&) noexcept;

  struct Inside;
  std::unique_ptr<Inside> inside;
};

CircuitGraph graph_of(const Circuit&);

using BranchFilter = std::function<bool(const Branch&)>;

/// Connected component of every node when only branches that pass the filter conduct.
std::vector<int> components(const CircuitGraph&, const Circuit&, const BranchFilter& passes);

/// By node: whether branches that pass lead there from `from`. Looks only at what it reaches.
std::vector<char> reached(const CircuitGraph&, const Circuit&, int from, const BranchFilter& passes);

/// Whether branches that pass lead from `from` to a node that is `wanted` (by node). Looks no further than that.
bool reaches_any(const CircuitGraph&, const Circuit&, int from, const BranchFilter& passes,
                 const std::vector<char>& wanted);

/// All that hangs together with one of two nodes when branches that pass do not join them.
struct GraphSide {
  int of = 0;  // that node
  std::vector<char> nodes;
};

/// The side of two nodes on which less is found; nullopt where they hang together. Looks at little more than twice
/// that.
std::optional<GraphSide> smaller_side(const CircuitGraph&, const Circuit&, int a, int b, const BranchFilter& passes);

/// Shortest length of wire in metre to every node from the nearest of `starts` through branches that pass; infinite
/// where none leads. A wire of unknown length counts as endless (1e6 m), and so does, with `sheathed_only`, one that
/// does not run in a sheath; what is no wire has no length.
std::vector<double> wire_length_from_any(const CircuitGraph&, const Circuit&, const std::vector<std::size_t>& starts,
                                         const BranchFilter& passes, bool sheathed_only);

/// Branches of a walk from `from` to `to` through branches that pass, fewest branches first; empty when there is none.
std::vector<std::size_t> walk_between(const CircuitGraph&, const Circuit&, int from, int to,
                                      const BranchFilter& passes);

/// A branch that carries current with next to no resistance when it is closed: wire, fuse, contact, diode, or a
/// resistance below 0.1 ohm.
bool is_conductor(const Circuit&, const Branch&);

/// Whether conductors lead from a terminal to the frame by a way that passes none of `grounds`: a sensor's return that
/// the frame has a part in, and not only the controller's own ground.
bool meets_frame(const CircuitGraph&, const Circuit&, TerminalIndex from, const std::vector<TerminalIndex>& grounds);

/// Zone of every terminal, by the source that can reach it with every contact closed: from its positive side first
/// (traction before low voltage before signal), else from its negative side (low voltage before signal before traction,
/// since a common negative takes its danger from the frame, not from the pack). Motor phases count as traction,
/// what lies behind a resistor has the zone before it, and what no source reaches but an input listens to is a signal.
std::vector<Zone> zones_of(const CircuitGraph&, const Circuit&);

}  // namespace loomproof
