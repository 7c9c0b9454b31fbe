// Which closed contacts may carry a current, told from the circuit as a graph.
#include "solve/contact_blocks.h"

#include <algorithm>
#include <utility>

namespace loomproof {
namespace {

constexpr std::size_t most_bytes = std::size_t{16} << 20;

void append(std::string& key, const std::vector<std::uint8_t>& states) {
  key.append(reinterpret_cast<const char*>(states.data()), states.size());
}

}  // namespace

ContactBlocks::ContactBlocks(const Circuit& circuit, const FaultLines& lines)
    : circuit_(circuit), lines_(lines), walk_(static_cast<std::size_t>(circuit.nodes)) {
  for (std::size_t l = 0; l < lines.first_bridge; ++l) walk_.add(lines.all[l].a, lines.all[l].b, l);
  conducts_.assign(lines.all.size(), 1);
}

// Sources, converters and loads join their ends whatever they do.
ContactBlocks::Blocks ContactBlocks::walk(const LogicState& logic) {
  for (std::size_t c = 0; c < logic.contact_closed.size(); ++c)
    conducts_[lines_.contact[c]] = static_cast<char>(logic.contact_closed[c]);
  Blocks out;
  out.parent.assign(circuit_.nodes, -1);
  out.number.assign(circuit_.nodes, 0);
  out.block_up.assign(circuit_.nodes, -1);
  out.contact_block.assign(logic.contact_closed.size(), -1);
  std::vector<int> block_of(lines_.first_bridge, -1), line_up(circuit_.nodes, -1);
  walk_.walk([&](std::size_t l) { return conducts_[l] != 0; },
             [&](int node, int parent, std::size_t line) {
               out.number[node] = walk_.number(node);
               out.parent[node] = parent;
               if (parent >= 0) line_up[node] = static_cast<int>(line);
             },
             [](int, int, std::size_t) {},
             [&](std::size_t, const std::size_t* first, const std::size_t* last) {
               char live = 0;
               for (const std::size_t* l = first; l != last; ++l) {
                 block_of[*l] = static_cast<int>(out.live.size());
                 live |= static_cast<char>(may_push(circuit_, lines_, *l, logic));
               }
               out.live.push_back(live);
             });
  for (std::size_t n = 0; n < line_up.size(); ++n) {
    if (line_up[n] >= 0) out.block_up[n] = block_of[line_up[n]];
  }
  for (std::size_t c = 0; c < out.contact_block.size(); ++c) {
    const int block = out.contact_block[c] = block_of[lines_.contact[c]];
    out.carries.push_back(block >= 0 && out.live[block] != 0 ? 1 : 0);
  }
  return out;
}

const ContactBlocks::Blocks& ContactBlocks::blocks_of(const LogicState& logic) {
  key_.clear();
  append(key_, logic.contact_closed);
  append(key_, logic.source_on);
  append(key_, logic.converter_on);
  const auto at = known_.find(key_);
  if (at != known_.end()) return at->second;
  const std::size_t bytes = sizeof(Blocks) + key_.size() + 4 * sizeof(int) * static_cast<std::size_t>(circuit_.nodes);
  if ((known_.size() + 1) * bytes > most_bytes) known_.clear();
  return known_.emplace(key_, walk(logic)).first->second;
}

// The blocks on the way between two nodes; true when one of them is live. None when nothing joins the two.
bool ContactBlocks::join(const Blocks& blocks, int a, int b) {
  joined_.clear();
  bool live = false;
  while (a != b) {
    int& lower = blocks.number[a] > blocks.number[b] ? a : b;
    if (blocks.parent[lower] < 0) {
      joined_.clear();
      return false;
    }
    joined_.push_back(blocks.block_up[lower]);
    live |= blocks.live[joined_.back()] != 0;
    lower = blocks.parent[lower];
  }
  return live;
}

void ContactBlocks::find(const LogicState& logic, int bridge_a, int bridge_b, std::vector<std::uint8_t>& carries) {
  const Blocks& blocks = blocks_of(logic);
  carries = blocks.carries;
  if (!join(blocks, bridge_a, bridge_b)) return;
  for (std::size_t c = 0; c < carries.size(); ++c) {
    if (std::find(joined_.begin(), joined_.end(), blocks.contact_block[c]) != joined_.end()) carries[c] = 1;
  }
}

}  // namespace loomproof
