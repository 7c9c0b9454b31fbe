// How much voltage there can be between two nodes, whatever state the switches and the logic are in.
#pragma once

#include <cstddef>
#include <vector>

#include "solve/blocks.h"
#include "solve/fault_lines.h"

namespace loomproof {

/// Bounds from the circuit as a graph in which everything conducts that possibly does. Whatever is no source is
/// passive: in it current flows from the higher voltage to the lower, and so
///   - no current flows in a two-connected block without a source: its nodes stand at one voltage;
///   - across any voltage between the lowest and the highest of a block one of its sources lifts the current, so these
///     lie no further apart than the open voltages of its sources together; of those on one negative the largest
///     counts;
///   - no passive line carries more than all the sources of its blocks give.
/// (Kirchhoff's laws and nothing else.) Blocks share wires, though, above all those to the frame. Wires, joints and
/// studs are therefore taken together as one node, and how far apart such a node's own ends can be follows from the
/// third: by that much, blocks that meet in it can see of one another. A source gives at most its limit, its
/// short-circuit current, or what opens a fuse right at its pole (fuse_opens_at).
class VoltageBounds {
 public:
  /// Keeps references. The circuit is the one that the lines were laid in.
  VoltageBounds(const Circuit&, const FaultLines&);

  /// @param there       by line: whether it is in the circuit at all; kept by reference
  /// @param fuses_open  whether a fuse at a pole opens at fuse_opens_at before anything else is judged
  void begin(const std::vector<char>& there, bool fuses_open);
  /// @param possible  of contacts, sources and converters: 1 where it may be closed or on
  void look(const LogicState& possible);
  /// The most that can be between two nodes, in V, in any state that the last look() allows; infinite when nothing is
  /// known.
  /// @param enough  a bound above it need not be the best one
  double between(int a, int b, double enough);

 private:
  struct Line {
    std::size_t line = 0;
    int a = 0, b = 0;  // clumps
  };
  struct Block {
    std::size_t first = 0, last = 0;  // into block_lines_
    bool live = false;
    double lift_v = 0;  // of the strongest source in it
    // of a dead one, of all that hang together: how far apart what they hang on can be; below 0: not known yet
    double spread_v = -1;
    std::size_t hangs_on = 0;                             // live clumps
    bool is_bridge() const { return last - first == 1; }  // carries nothing, whatever is at its ends
  };
  /// Nodes that wires, joints and studs join.
  struct Clump {
    bool live = false;
    int hanging = -1;  // a dead block at it, where none is live
    double amps = 0;   // of all sources whose current may pass here; at the top of flow_up_
    bool shorted = false;
  };
  struct Way {
    int to = 0;
    std::size_t line = 0;
    double ohm = 0;
  };

  void join(std::size_t line);
  void number_clumps();
  void limit_wires(bool fuses_open);
  void limit_sources(bool fuses_open);
  void close_block(const std::size_t* first, const std::size_t* last);
  void hang_dead_blocks();
  void find_flows();
  double along_way(int a, int b);
  double drop_v(const Way&, double amps) const;
  double apart(int clump, std::vector<int> nodes);
  Block& hanging(int block);
  double across(int block);
  bool disturbs(int block);
  double amps_in(int clump);
  int node_at(std::size_t place, int clump) const;

  const Circuit& circuit_;
  const FaultLines& lines_;
  const std::vector<char>* there_ = nullptr;
  std::vector<char> is_wiring_, is_fuse_;  // by line: a wire, joint or stud; a fuse of no more resistance than these
  std::vector<std::vector<Way>> wiring_;   // by node, of those lines and fuses
  std::vector<char> joined_;               // by line: part of a clump
  std::vector<double> carries_a_;          // by line: at most; infinite where nothing is known but the sources
  double all_lifts_v_ = 0;
  std::vector<int> up_, clump_of_;  // by node
  std::vector<Line> between_;       // clumps, and none within one but sources
  std::vector<double> lifts_;       // by place in between_: lift_v()
  std::vector<double> source_a_;    // by place in between_: the most that it gives
  BlockWalk walk_;
  std::vector<char> on_;       // by place in between_
  bool looked_ = false;        // since begin()
  std::vector<int> block_of_;  // by place in between_
  std::vector<Clump> clumps_;
  std::vector<int> flow_up_;  // by clump
  std::vector<Block> blocks_;
  std::vector<int> block_up_;  // dead blocks that hang together
  std::vector<std::size_t> block_lines_;
  std::vector<std::size_t> way_;  // places in between_
  const LogicState* possible_ = nullptr;
  BlockWalk nodes_walk_;     // over all lines and nodes
  std::vector<char> flows_;  // by line: in a block with a source, of nodes; empty: not known yet
  std::vector<int> queue_, ways_left_;
  std::vector<double> passes_;
  std::vector<char> limited_;
  std::vector<double> volts_;  // by node
};

}  // namespace loomproof
