// Which closed contacts may carry a current, told from the circuit as a graph.
#include "solve/contact_blocks.h"

#include <algorithm>
#include <cstring>

namespace loomproof {
namespace {

constexpr std::size_t most_bytes = std::size_t{2} << 20;

}  // namespace

ContactBlocks::ContactBlocks(const Circuit& circuit, const FaultLines& lines)
    : circuit_(circuit),
      lines_(lines),
      nodes_(static_cast<std::size_t>(circuit.nodes)),
      contacts_(circuit.loom->elements.contacts.size()),
      walk_(nodes_),
      known_(most_bytes) {
  for (std::size_t l = 0; l < lines.first_bridge; ++l) walk_.add(lines.all[l].a, lines.all[l].b, l);
  conducts_.assign(lines.all.size(), 1);
}

// Sources, converters and loads join their ends whatever they do. A node has a block on its way up but for the first.
void ContactBlocks::walk(const LogicState& logic) {
  for (std::size_t c = 0; c < contacts_; ++c) conducts_[lines_.contact[c]] = static_cast<char>(logic.contact_closed[c]);
  // There are no more blocks than nodes.
  row_.assign(4 * nodes_ + 2 * contacts_, none);
  block_of_.assign(lines_.first_bridge, none);
  line_up_.assign(nodes_, none);
  std::uint16_t* const live = row_.data() + (this->live(row_.data()) - row_.data());
  std::uint16_t blocks = 0;
  walk_.walk([&](std::size_t l) { return conducts_[l] != 0; },
             [&](int node, int parent, std::size_t line) {
               row_[nodes_ + node] = static_cast<std::uint16_t>(walk_.number(node));
               if (parent < 0) return;
               row_[node] = static_cast<std::uint16_t>(parent);
               line_up_[node] = static_cast<std::uint16_t>(line);
             },
             [](int, int, std::size_t) {},
             [&](std::size_t, const std::size_t* first, const std::size_t* last) {
               live[blocks] = 0;
               for (const std::size_t* l = first; l != last; ++l) {
                 block_of_[*l] = blocks;
                 if (may_push(circuit_, lines_, *l, logic)) live[blocks] = 1;
               }
               ++blocks;
             });
  for (std::size_t n = 0; n < nodes_; ++n) {
    if (line_up_[n] != none) row_[2 * nodes_ + n] = block_of_[line_up_[n]];
  }
  for (std::size_t c = 0; c < contacts_; ++c) {
    const std::uint16_t block = row_[3 * nodes_ + c] = block_of_[lines_.contact[c]];
    row_[3 * nodes_ + contacts_ + c] = block != none && live[block] != 0 ? 1 : 0;
  }
}

ContactBlocks::Row ContactBlocks::row_of(const LogicState& logic) {
  known_.begin_key();
  known_.add(logic.contact_closed);
  known_.add(logic.source_on);
  known_.add(logic.converter_on);
  if (const std::uint64_t* found = known_.find()) return reinterpret_cast<Row>(found);
  walk(logic);
  std::uint64_t* const kept = known_.keep((row_.size() + 3) / 4);
  std::memcpy(kept, row_.data(), row_.size() * sizeof row_[0]);
  return row_.data();
}

// The blocks on the way between two nodes; true when one of them is live. None when nothing joins the two.
bool ContactBlocks::join(Row row, std::size_t a, std::size_t b) {
  joined_.clear();
  bool is_live = false;
  while (a != b) {
    std::size_t& lower = number(row)[a] > number(row)[b] ? a : b;
    if (parent(row)[lower] == none) return false;
    joined_.push_back(block_up(row)[lower]);
    is_live |= live(row)[joined_.back()] != 0;
    lower = parent(row)[lower];
  }
  return is_live;
}

bool ContactBlocks::find(const LogicState& logic, int bridge_a, int bridge_b, std::vector<std::uint8_t>& carries) {
  // A loom so large that its lines have no number here: every contact that is closed may carry something.
  if (lines_.all.size() >= none) {
    carries = logic.contact_closed;
    return bridge_a != bridge_b;
  }
  const Row row = row_of(logic);
  carries.resize(contacts_);
  for (std::size_t c = 0; c < contacts_; ++c) carries[c] = static_cast<std::uint8_t>(carrying(row)[c]);
  if (!join(row, static_cast<std::size_t>(bridge_a), static_cast<std::size_t>(bridge_b))) return false;
  for (std::size_t c = 0; c < contacts_; ++c) {
    if (std::find(joined_.begin(), joined_.end(), block(row)[c]) != joined_.end()) carries[c] = 1;
  }
  return true;
}

}  // namespace loomproof
