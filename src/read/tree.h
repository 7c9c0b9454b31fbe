// A YAML document as a flat list of nodes with places: what yaml-cpp's events leave behind, bounded while they come.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/place.h"
#include "read/faults.h"

namespace loomproof {

/// Nodes stand in document order, children right behind their parent (a map's as key, value, key, value).
struct Node {
  enum class Shape : std::uint8_t { empty, text, list, map, alias };
  Shape shape = Shape::empty;
  bool in_quotes = false;
  std::uint32_t next = 0;    // index behind this node and all below it
  std::uint32_t target = 0;  // of an alias
  Place at;
  std::string_view text;
};

/// One node seen through aliases. Cheap to copy; valid as long as its nodes are.
class View {
 public:
  View(const Node* nodes, std::uint32_t index)
      : nodes_(nodes), index_(nodes[index].shape == Node::Shape::alias ? nodes[index].target : index) {}

  bool is_empty() const { return node().shape == Node::Shape::empty; }
  bool is_text() const { return node().shape == Node::Shape::text; }
  bool is_list() const { return node().shape == Node::Shape::list; }
  bool is_map() const { return node().shape == Node::Shape::map; }
  bool in_quotes() const { return node().in_quotes; }
  std::string_view text() const { return node().text; }
  Place at() const { return node().at; }
  /// "a text", "a list", "a map" or "nothing": for messages.
  std::string_view shape_name() const;

  class ListItems;
  class MapEntries;
  ListItems items() const;     // none when this is not a list
  MapEntries entries() const;  // none when this is not a map
  std::optional<View> find(std::string_view key) const;

 private:
  const Node& node() const { return nodes_[index_]; }
  const Node* nodes_;
  std::uint32_t index_;
};

struct Entry {
  View key;
  View value;
};

class View::ListItems {
 public:
  ListItems(const Node* nodes, std::uint32_t first, std::uint32_t end) : nodes_(nodes), first_(first), end_(end) {}
  struct Step {
    const Node* nodes;
    std::uint32_t index;
    View operator*() const { return {nodes, index}; }
    Step& operator++() {
      index = nodes[index].next;
      return *this;
    }
    bool operator!=(const Step& other) const { return index != other.index; }
  };
  Step begin() const { return {nodes_, first_}; }
  Step end() const { return {nodes_, end_}; }
  bool empty() const { return first_ == end_; }

 private:
  const Node* nodes_;
  std::uint32_t first_;
  std::uint32_t end_;
};

class View::MapEntries {
 public:
  MapEntries(const Node* nodes, std::uint32_t first, std::uint32_t end) : nodes_(nodes), first_(first), end_(end) {}
  struct Step {
    const Node* nodes;
    std::uint32_t index;
    Entry operator*() const { return {{nodes, index}, {nodes, nodes[index].next}}; }
    Step& operator++() {
      index = nodes[nodes[index].next].next;
      return *this;
    }
    bool operator!=(const Step& other) const { return index != other.index; }
  };
  Step begin() const { return {nodes_, first_}; }
  Step end() const { return {nodes_, end_}; }
  bool empty() const { return first_ == end_; }

 private:
  const Node* nodes_;
  std::uint32_t first_;
  std::uint32_t end_;
};

inline View::ListItems View::items() const {
  return is_list() ? ListItems{nodes_, index_ + 1, node().next} : ListItems{nodes_, 0, 0};
}

inline View::MapEntries View::entries() const {
  return is_map() ? MapEntries{nodes_, index_ + 1, node().next} : MapEntries{nodes_, 0, 0};
}

struct Tree {
  std::vector<Node> nodes;
  std::deque<std::string> texts;  // that the nodes view; a deque so that none ever moves

  View root() const { return {nodes.data(), 0}; }
};

/// The one document of `text`. Every map in it has text keys, each only once. Nothing after a fault that leaves no
/// usable tree (syntax, bounds, aliases that hold themselves); repeated keys are faults that leave a tree.
std::optional<Tree> parse_tree(std::string_view text, const ReadBounds& bounds, Faults& faults);

}  // namespace loomproof
