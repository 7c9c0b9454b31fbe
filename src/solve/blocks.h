// The two-connected blocks of a graph of lines, found by one walk in depth.
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

#include <boost/container/small_vector.hpp>

namespace loomproof {

/// Lines by node, each from both its ends; two nodes may be joined by several.
class BlockWalk {
 public:
  explicit BlockWalk(std::size_t nodes) { reset(nodes); }

  /// Takes all lines out; of so many nodes from now on.
  void reset(std::size_t nodes) {
    if (beside_.size() < nodes) beside_.resize(nodes);
    for (auto& list : beside_) list.clear();
    for (auto* list : {&number_, &low_, &parent_}) list->resize(nodes);
    by_.resize(nodes);
  }

  void add(int a, int b, std::size_t line) {
    if (a == b) return;
    beside_[a].push_back({b, line});
    beside_[b].push_back({a, line});
  }

  /// Order in which the last walk() came to a node; a node above another in the walk's tree came before it.
  int number(int node) const { return number_[node]; }

  /// The lines of the last walk's tree from one node to another, in order; none for one node, or where nothing joins
  /// the two.
  void list_way(int a, int b, std::vector<std::size_t>& out) const {
    out.clear();
    boost::container::small_vector<std::size_t, 64> down;
    while (a != b) {
      const bool up = number_[a] > number_[b];
      int& lower = up ? a : b;
      if (parent_[lower] < 0) {
        out.clear();
        return;
      }
      if (up) {
        out.push_back(by_[lower]);
      } else {
        down.push_back(by_[lower]);
      }
      lower = parent_[lower];
    }
    out.insert(out.end(), down.rbegin(), down.rend());
  }

  /// @param conducts  (line): whether the line is there
  /// @param reach     (node, parent, line): the walk comes to a node; the parent of the first of a piece is -1
  /// @param leave     (parent, node, line): all beyond the node has been seen
  /// @param close     (line, first, last): the lines of a block, pointers, after leave() of the node that `line`, one
  /// of them, led to
  template <class Conducts, class Reach, class Leave, class Close>
  void walk(const Conducts& conducts, const Reach& reach, const Leave& leave, const Close& close) {
    std::fill(number_.begin(), number_.end(), -1);
    int counted = 0;
    for (int root = 0; root < static_cast<int>(number_.size()); ++root) {
      if (number_[root] >= 0) continue;
      number_[root] = low_[root] = counted++;
      parent_[root] = -1;
      reach(root, -1, std::size_t{0});
      stack_.push_back({root, no_line, 0, 0});
      while (!stack_.empty()) {
        Visit& at = stack_.back();
        if (at.next < beside_[at.node].size()) {
          const Half half = beside_[at.node][at.next++];
          if (half.line == at.by || !conducts(half.line)) continue;
          if (number_[half.to] < 0) {
            number_[half.to] = low_[half.to] = counted++;
            parent_[half.to] = at.node;
            by_[half.to] = half.line;
            reach(half.to, at.node, half.line);
            stack_.push_back({half.to, half.line, 0, lines_.size()});
            lines_.push_back(half.line);
          } else if (number_[half.to] < number_[at.node]) {
            lines_.push_back(half.line);
            low_[at.node] = std::min(low_[at.node], number_[half.to]);
          }
          continue;
        }
        const Visit done = at;
        stack_.pop_back();
        if (stack_.empty()) break;
        const int parent = stack_.back().node;
        low_[parent] = std::min(low_[parent], low_[done.node]);
        leave(parent, done.node, done.by);
        if (low_[done.node] < number_[parent]) continue;
        close(done.by, lines_.data() + done.first_line, lines_.data() + lines_.size());
        lines_.resize(done.first_line);
      }
    }
  }

 private:
  static constexpr std::size_t no_line = static_cast<std::size_t>(-1);
  struct Half {
    int to = 0;
    std::size_t line = 0;
  };
  struct Visit {
    int node = 0;
    std::size_t by = 0;  // line
    std::size_t next = 0;
    std::size_t first_line = 0;
  };
  std::vector<std::vector<Half>> beside_;  // by node
  std::vector<int> number_, low_;          // by node
  std::vector<int> parent_;                // by node, in the tree of the last walk
  std::vector<std::size_t> by_;            // by node: the line from its parent
  std::vector<Visit> stack_;
  std::vector<std::size_t> lines_;  // of the blocks under way
};

}  // namespace loomproof
