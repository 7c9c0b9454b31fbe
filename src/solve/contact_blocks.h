// Which closed contacts may carry a current, told from the circuit as a graph.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <unordered_map>
#include <vector>

#include "solve/blocks.h"
#include "solve/fault_lines.h"
#include "solve/operating_point.h"

namespace loomproof {

/// Current flows in a loop with a source in it and nowhere else: a contact in a two-connected block of the graph that
/// holds no source carries exactly nothing, and its two ends stand at one voltage. Whether it is open or closed then
/// decides which nodes hang together, and nothing else. What a fault opens is taken as closed here, which makes blocks
/// larger and never calls a contact idle that carries something; a bridge that a fault lays makes one block of all
/// those between its two ends.
class ContactBlocks {
 public:
  /// Both must outlive it.
  ContactBlocks(const Circuit&, const FaultLines&);

  /// @param bridge_a, bridge_b  nodes that a fault joins, equal ones for none
  /// @param carries             by contact: 1 where it is closed and may carry a current
  void find(const LogicState&, int bridge_a, int bridge_b, std::vector<std::uint8_t>& carries);

 private:
  struct Blocks {
    std::vector<int> parent, number, block_up;  // by node: above it in the walk's tree, its order, the block up there
    std::vector<int> contact_block;             // by contact; -1: open
    std::vector<char> live;                     // by block: a source is in it
    std::vector<std::uint8_t> carries;          // by contact: it is in a live block
  };
  const Blocks& blocks_of(const LogicState&);
  Blocks walk(const LogicState&);
  bool join(const Blocks&, int a, int b);

  const Circuit& circuit_;
  const FaultLines& lines_;
  BlockWalk walk_;
  std::vector<char> conducts_;  // by line
  std::string key_;
  std::unordered_map<std::string, Blocks> known_;
  std::vector<int> joined_;  // blocks that the bridge makes one
};

}  // namespace loomproof
