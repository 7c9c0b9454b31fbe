// The circuit as a graph: components, lengths, walks, zones.
#include "solve/circuit_graph.h"

#include <algorithm>
#include <array>
#include <limits>
#include <tuple>
#include <utility>

#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/breadth_first_search.hpp>
#include <boost/graph/connected_components.hpp>
#include <boost/graph/dijkstra_shortest_paths.hpp>
#include <boost/graph/filtered_graph.hpp>
#include <boost/property_map/function_property_map.hpp>

namespace loomproof {

struct EdgeBranch {
  std::size_t branch = 0;
};

struct CircuitGraph::Inside {
  boost::adjacency_list<boost::vecS, boost::vecS, boost::undirectedS, boost::no_property, EdgeBranch> graph;
};

namespace {

using Graph = decltype(CircuitGraph::Inside::graph);

constexpr double no_resistance_ohm = 0.1;

// Boost copies and default-constructs its edge predicates.
struct Passes {
  const Graph* graph = nullptr;
  const std::vector<char>* allowed = nullptr;  // by branch
  bool operator()(const Graph::edge_descriptor& e) const { return (*allowed)[(*graph)[e].branch] != 0; }
};

struct CameBy : boost::default_bfs_visitor {
  std::vector<std::size_t>* came = nullptr;
  const Graph* g = nullptr;
  template <class Edge, class Over>
  void tree_edge(Edge e, const Over& over) {
    (*came)[boost::target(e, over)] = (*g)[e].branch;
  }
};

std::vector<char> allowed_branches(const Circuit& circuit, const BranchFilter& passes) {
  std::vector<char> allowed(circuit.branches.size());
  for (std::size_t i = 0; i < allowed.size(); ++i) allowed[i] = passes(circuit.branches[i]) ? 1 : 0;
  return allowed;
}

}  // namespace

CircuitGraph::CircuitGraph() : inside(std::make_unique<Inside>()) {}
CircuitGraph::~CircuitGraph() = default;
CircuitGraph::CircuitGraph(CircuitGraph&&) noexcept = default;
CircuitGraph& CircuitGraph::operator=(CircuitGraph&&) noexcept = default;

CircuitGraph graph_of(const Circuit& circuit) {
  CircuitGraph out;
  out.inside->graph = Graph(static_cast<std::size_t>(circuit.nodes));
  for (std::size_t i = 0; i < circuit.branches.size(); ++i) {
    const Branch& b = circuit.branches[i];
    boost::add_edge(static_cast<std::size_t>(b.a), static_cast<std::size_t>(b.b), EdgeBranch{i}, out.inside->graph);
  }
  return out;
}

std::vector<int> components(const CircuitGraph& whole, const Circuit& circuit, const BranchFilter& passes) {
  const Graph& graph = whole.inside->graph;
  const std::vector<char> allowed = allowed_branches(circuit, passes);
  const boost::filtered_graph filtered(graph, Passes{&graph, &allowed});
  std::vector<int> component(boost::num_vertices(graph));
  boost::connected_components(filtered, component.data());
  return component;
}

namespace {

// Spreads over the graph edge by edge.
class Flood {
 public:
  Flood(const Graph& graph, const Circuit& circuit, const BranchFilter& passes, int from)
      : graph_(graph), circuit_(circuit), passes_(passes), is_(boost::num_vertices(graph), 0) {
    enter(static_cast<std::size_t>(from));
  }

  /// Looks at one more edge; false when there is none.
  bool step() {
    while (at_ == end_) {
      if (waiting_.empty()) return false;
      std::tie(at_, end_) = boost::out_edges(waiting_.back(), graph_);
      waiting_.pop_back();
    }
    const auto edge = *at_++;
    const std::size_t to = boost::target(edge, graph_);
    if (is_[to] == 0 && passes_(circuit_.branches[graph_[edge].branch])) enter(to);
    return true;
  }

  std::size_t last() const { return last_; }  // node that was entered
  bool is_in(std::size_t node) const { return is_[node] != 0; }
  std::vector<char>& nodes() { return is_; }

 private:
  void enter(std::size_t node) {
    is_[node] = 1;
    last_ = node;
    waiting_.push_back(node);
  }

  const Graph& graph_;
  const Circuit& circuit_;
  const BranchFilter& passes_;
  std::vector<char> is_;
  std::vector<std::size_t> waiting_;
  boost::graph_traits<Graph>::out_edge_iterator at_{}, end_{};
  std::size_t last_ = 0;
};

}  // namespace

std::vector<char> reached(const CircuitGraph& whole, const Circuit& circuit, int from, const BranchFilter& passes) {
  Flood flood(whole.inside->graph, circuit, passes, from);
  while (flood.step()) {
  }
  return std::move(flood.nodes());
}

bool reaches_any(const CircuitGraph& whole, const Circuit& circuit, int from, const BranchFilter& passes,
                 const std::vector<char>& wanted) {
  Flood flood(whole.inside->graph, circuit, passes, from);
  do {
    if (wanted[flood.last()] != 0) return true;
  } while (flood.step());
  return false;
}

std::optional<GraphSide> smaller_side(const CircuitGraph& whole, const Circuit& circuit, int a, int b,
                                      const BranchFilter& passes) {
  Flood of_a(whole.inside->graph, circuit, passes, a), of_b(whole.inside->graph, circuit, passes, b);
  for (;;) {
    if (of_b.is_in(of_a.last()) || of_a.is_in(of_b.last())) return std::nullopt;
    if (!of_a.step()) return GraphSide{a, std::move(of_a.nodes())};
    if (!of_b.step()) return GraphSide{b, std::move(of_b.nodes())};
  }
}

std::vector<double> wire_length_from_any(const CircuitGraph& whole, const Circuit& circuit,
                                         const std::vector<std::size_t>& starts, const BranchFilter& passes,
                                         bool sheathed_only) {
  const Graph& graph = whole.inside->graph;
  constexpr double endless = std::numeric_limits<double>::infinity();
  constexpr double unknown_m = 1e6;  // finite, or the walk would not be seen at all
  std::vector<double> distance(boost::num_vertices(graph), endless);
  if (starts.empty()) return distance;
  const std::vector<char> allowed = allowed_branches(circuit, passes);
  const boost::filtered_graph filtered(graph, Passes{&graph, &allowed});
  const auto length_of = [&](const Graph::edge_descriptor& e) -> double {
    const Branch& b = circuit.branches[graph[e].branch];
    if (b.type != BranchType::wire) return 0.0;
    const Wire& wire = circuit.loom->wires[b.index];
    return wire.length && (wire.sheathed || !sheathed_only) ? wire.length->value.value : unknown_m;
  };
  const auto length = boost::make_function_property_map<Graph::edge_descriptor>(length_of);
  boost::dijkstra_shortest_paths(filtered, starts.begin(), starts.end(), boost::dummy_property_map(), distance.data(),
                                 length, boost::get(boost::vertex_index, filtered), std::less<>(),
                                 boost::closed_plus<double>(endless), endless, 0.0, boost::default_dijkstra_visitor());
  return distance;
}

std::vector<std::size_t> walk_between(const CircuitGraph& whole, const Circuit& circuit, int from, int to,
                                      const BranchFilter& passes) {
  const Graph& graph = whole.inside->graph;
  const std::vector<char> allowed = allowed_branches(circuit, passes);
  const boost::filtered_graph filtered(graph, Passes{&graph, &allowed});
  const std::size_t none = circuit.branches.size();
  std::vector<std::size_t> came_by(boost::num_vertices(graph), none);
  CameBy record;
  record.came = &came_by;
  record.g = &graph;
  boost::breadth_first_search(filtered, static_cast<std::size_t>(from), boost::visitor(record));
  std::vector<std::size_t> walk;
  for (int at = to; at != from;) {
    const std::size_t by = came_by[at];
    if (by == none) return {};
    walk.push_back(by);
    const Branch& b = circuit.branches[by];
    at = b.a == at ? b.b : b.a;
  }
  std::reverse(walk.begin(), walk.end());
  return walk;
}

bool is_conductor(const Circuit& circuit, const Branch& b) {
  switch (b.type) {
    case BranchType::wire:
    case BranchType::fuse:
    case BranchType::contact:
      return true;
    case BranchType::diode:
      return circuit.diode_stands[b.index] != DiodeStand::backward;
    case BranchType::resistance: {
      const Datum& ohm = circuit.loom->elements.resistances[b.index].ohm;
      return ohm && *ohm < no_resistance_ohm;
    }
    default:
      return false;
  }
}

namespace {

// A pole of a pack that someone bonded to the frame is a pole of the pack all the same: what hangs on it without the
// frame, and on no pole of the 12 V side, stays traction and keeps its warnings.
void keep_traction(const CircuitGraph& graph, const Circuit& circuit, std::vector<Zone>& zone) {
  if (circuit.frame_node < 0) return;
  const std::vector<int> piece = components(graph, circuit, [&](const Branch& b) {
    return b.a != circuit.frame_node && b.b != circuit.frame_node && is_conductor(circuit, b);
  });
  std::vector<char> traction(piece.size(), 0), other(piece.size(), 0);
  for (const Source& s : circuit.loom->elements.sources) {
    for (TerminalIndex pole : {s.pos, s.neg})
      (s.zone == Zone::traction ? traction : other)[piece[circuit.node(pole)]] = 1;
  }
  for (const Converter& c : circuit.loom->elements.converters) {
    for (TerminalIndex pole : {c.out_pos, c.out_neg}) other[piece[circuit.node(pole)]] = 1;
  }
  for (std::size_t t = 0; t < zone.size(); ++t) {
    const int p = piece[circuit.node_of[t]];
    if (traction[p] != 0 && other[p] == 0 && circuit.node_of[t] != circuit.frame_node) zone[t] = Zone::traction;
  }
}

}  // namespace

bool meets_frame(const CircuitGraph& graph, const Circuit& circuit, TerminalIndex from,
                 const std::vector<TerminalIndex>& grounds) {
  if (circuit.frame_node < 0) return false;
  std::vector<char> barred(circuit.nodes, 0);
  for (const TerminalIndex ground : grounds) barred[circuit.node(ground)] = 1;
  barred[circuit.node(from)] = barred[circuit.frame_node] = 0;
  const auto conducts = [&](const Branch& b) {
    return is_conductor(circuit, b) && barred[b.a] == 0 && barred[b.b] == 0;
  };
  return reached(graph, circuit, circuit.node(from), conducts)[circuit.frame_node] != 0;
}

std::vector<Zone> zones_of(const CircuitGraph& graph, const Circuit& circuit) {
  const Loom& loom = *circuit.loom;
  const std::vector<int> piece = components(graph, circuit, [&](const Branch& b) { return is_conductor(circuit, b); });
  const int pieces = piece.empty() ? 0 : *std::max_element(piece.begin(), piece.end()) + 1;
  constexpr int zones = 4;
  std::vector<std::array<bool, zones>> from_pos(pieces), from_neg(pieces);
  const auto mark = [&](TerminalIndex pos, TerminalIndex neg, Zone zone) {
    from_pos[piece[circuit.node(pos)]][static_cast<int>(zone)] = true;
    from_neg[piece[circuit.node(neg)]][static_cast<int>(zone)] = true;
  };
  for (const Source& s : loom.elements.sources) mark(s.pos, s.neg, s.zone);
  for (const Converter& c : loom.elements.converters) mark(c.out_pos, c.out_neg, Zone::low_voltage);
  for (const Lead& lead : loom.elements.leads) {
    from_pos[piece[circuit.node(lead.terminal)]][static_cast<int>(Zone::traction)] = true;
  }
  std::vector<Zone> zone(loom.terminals.size(), Zone::none);
  for (std::size_t t = 0; t < zone.size(); ++t) {
    const int p = piece[circuit.node_of[t]];
    for (Zone z : {Zone::traction, Zone::low_voltage, Zone::signal}) {
      if (zone[t] == Zone::none && from_pos[p][static_cast<int>(z)]) zone[t] = z;
    }
    for (Zone z : {Zone::low_voltage, Zone::signal, Zone::traction}) {
      if (zone[t] == Zone::none && from_neg[p][static_cast<int>(z)]) zone[t] = z;
    }
  }
  // All that is joined to a terminal that no source reaches: its wires, and what lies behind a plug.
  const auto give = [&](TerminalIndex to, Zone z) {
    if (zone[to.value] != Zone::none) return;
    const int p = piece[circuit.node(to)];
    for (std::size_t t = 0; t < zone.size(); ++t) {
      if (piece[circuit.node_of[t]] == p) zone[t] = z;
    }
  };
  // What a source reaches only through a resistor (precharge) is still of its zone.
  const auto take = [&](TerminalIndex from, TerminalIndex to) { give(to, zone[from.value]); };
  for (const Resistance& r : loom.elements.resistances) {
    take(r.a, r.b);
    take(r.b, r.a);
  }
  // What no source reaches but an input listens to is a signal.
  for (const Input& input : loom.elements.inputs) give(input.terminal, Zone::signal);
  keep_traction(graph, circuit, zone);
  return zone;
}

}  // namespace loomproof
