// Which closed contacts may carry a current, told from the circuit as a graph.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "solve/blocks.h"
#include "solve/fault_lines.h"
#include "solve/operating_point.h"
#include "solve/record_memo.h"

namespace loomproof {

/// Current flows in a loop with a source in it and nowhere else: a contact in a two-connected block of the graph that
/// holds no source carries exactly nothing, and its two ends stand at one voltage. Whether it is open or closed then
/// decides which nodes hang together, and nothing else. What a fault opens is taken as closed here, which makes blocks
/// larger and never calls a contact idle that carries something; a bridge that a fault lays makes one block of all
/// those between its two ends. A voltage across what nothing joins, as a diode looks at, is not covered.
class ContactBlocks {
 public:
  /// Both must outlive it.
  ContactBlocks(const Circuit&, const FaultLines&);

  /// What another one of the same circuit has found; it must not find more meanwhile.
  void add_base(const ContactBlocks& base) { known_.add_base(base.known_); }

  /// @param bridge_a, bridge_b  nodes that a fault joins, equal ones for none
  /// @param carries             by contact: 1 where it is closed and may carry a current
  /// @return whether the bridge may carry one; false when there is none
  bool find(const LogicState&, int bridge_a, int bridge_b, std::vector<std::uint8_t>& carries);

 private:
  // As a row of 16-bit numbers, `none` for what is not there, so that many of them stay near at hand: by node what
  // stands above it in the walk's tree, its order there and the block on the way up; by contact its block and whether
  // it is live; by block whether a source is in it.
  using Row = const std::uint16_t*;
  static constexpr std::uint16_t none = 0xffff;
  Row parent(Row row) const { return row; }
  Row number(Row row) const { return row + nodes_; }
  Row block_up(Row row) const { return row + 2 * nodes_; }
  Row block(Row row) const { return row + 3 * nodes_; }
  Row carrying(Row row) const { return row + 3 * nodes_ + contacts_; }
  Row live(Row row) const { return row + 3 * nodes_ + 2 * contacts_; }

  Row row_of(const LogicState&);
  void walk(const LogicState&);
  bool join(Row, std::size_t a, std::size_t b);

  const Circuit& circuit_;
  const FaultLines& lines_;
  std::size_t nodes_ = 0, contacts_ = 0;
  BlockWalk walk_;
  std::vector<char> conducts_;  // by line
  RecordMemo known_;
  std::vector<std::uint16_t> row_, block_of_, line_up_;  // what walk() writes
  std::vector<std::uint16_t> joined_;                    // blocks that the bridge makes one
};

}  // namespace loomproof
