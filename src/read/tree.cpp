// yaml-cpp's events to a tree; depth, size, repeated keys and aliases are judged as they come, so that a hostile file
// is refused before it costs anything.
#include "read/tree.h"

#include <fmt/core.h>
#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <istream>
#include <streambuf>
#include <unordered_map>

#include "read/text_check.h"
#include "units/quote.h"

namespace loomproof {
namespace {

struct Stop {};  // thrown out of the parser once a fault makes the rest useless

Place place_of(const YAML::Mark& mark) {
  return mark.is_null() ? Place{1, 1} : Place{mark.line + 1, mark.column + 1};
}

// Reads a text in place; a string stream would copy it first.
class TextBuffer : public std::streambuf {
 public:
  explicit TextBuffer(std::string_view text) {
    char* start = const_cast<char*>(text.data());  // streambuf's get area is never written through
    setg(start, start, start + text.size());
  }
};

class Builder : public YAML::EventHandler {
 public:
  Builder(Tree& tree, const ReadBounds& bounds, Faults& faults) : tree_(tree), bounds_(bounds), faults_(faults) {}

  void OnDocumentStart(const YAML::Mark&) override {}
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override { leaf(Node::Shape::empty, mark, anchor); }

  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override {
    refuse_tag(mark, tag);
    const bool control = std::any_of(value.begin(), value.end(), [](char c) {
      const auto byte = static_cast<unsigned char>(c);
      return (byte < 0x20 && c != '\n' && c != '\t') || byte == 0x7F;
    });
    if (control) stop(place_of(mark), fmt::format("{} holds a control character", quoted(value)), "remove it");
    const std::uint32_t index = leaf(Node::Shape::text, mark, anchor);
    tree_.nodes[index].in_quotes = tag == "!";
    tree_.nodes[index].text = tree_.texts.emplace_back(value);
  }

  void OnAlias(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    const Anchor* target = anchor < anchors_.size() ? &anchors_[anchor] : nullptr;
    if (!target || !target->known) stop(place_of(mark), "an alias to nothing", {});
    if (target->open) {
      stop(place_of(mark), "an alias stands inside the value that it repeats", "write the value out");
    }
    const int deepest = static_cast<int>(open_.size()) + target->height;
    if (deepest > bounds_.depth) refuse_depth(mark);
    const std::uint32_t index = leaf(Node::Shape::alias, mark, 0, target->weight);
    tree_.nodes[index].target = target->index;
    if (!open_.empty()) open_.back().height = std::max(open_.back().height, target->height + 1);
  }

  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    open(Node::Shape::list, mark, tag, anchor);
  }
  void OnSequenceEnd() override { close(); }

  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override {
    open(Node::Shape::map, mark, tag, anchor);
  }

  void OnMapEnd() override {
    check_keys(open_.back().index);
    close();
  }

 private:
  struct Anchor {
    std::uint32_t index = 0;
    std::size_t weight = 1;  // nodes, aliases followed
    int height = 0;          // levels below, aliases followed
    bool known = false;
    bool open = false;
  };
  struct Level {
    std::uint32_t index;
    std::size_t weight_before;
    int height;
    YAML::anchor_t anchor;
  };

  [[noreturn]] void stop(Place at, std::string what, std::string hint) {
    faults_.add(at, std::move(what), std::move(hint));
    throw Stop{};
  }

  [[noreturn]] void refuse_depth(const YAML::Mark& mark) {
    stop(place_of(mark), fmt::format("values nest deeper than {} levels", bounds_.depth), "no description needs that");
  }

  void refuse_tag(const YAML::Mark& mark, const std::string& tag) {
    if (tag.empty() || tag == "?" || tag == "!") return;
    stop(place_of(mark), fmt::format("tag {} is not used here", quoted(tag)), "write the value without a tag");
  }

  std::uint32_t leaf(Node::Shape shape, const YAML::Mark& mark, YAML::anchor_t anchor, std::size_t weight = 1) {
    weight_ += weight;
    if (weight_ > bounds_.nodes) {
      stop(place_of(mark), fmt::format("more than {} values once aliases are followed", bounds_.nodes),
           "write fewer, or without aliases");
    }
    const auto index = static_cast<std::uint32_t>(tree_.nodes.size());
    Node& node = tree_.nodes.emplace_back();
    node.shape = shape;
    node.at = place_of(mark);
    node.next = index + 1;
    if (anchor != 0) remember(anchor) = {index, 1, 0, true, false};
    return index;
  }

  Anchor& remember(YAML::anchor_t anchor) {
    if (anchors_.size() <= anchor) anchors_.resize(anchor + 1);
    return anchors_[anchor];
  }

  void open(Node::Shape shape, const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor) {
    refuse_tag(mark, tag);
    if (static_cast<int>(open_.size()) >= bounds_.depth) refuse_depth(mark);
    const std::size_t before = weight_;
    const std::uint32_t index = leaf(shape, mark, 0);
    if (anchor != 0) remember(anchor) = {index, 0, 0, true, true};
    open_.push_back({index, before, 0, anchor});
  }

  void close() {
    const Level level = open_.back();
    open_.pop_back();
    tree_.nodes[level.index].next = static_cast<std::uint32_t>(tree_.nodes.size());
    if (level.anchor != 0) {
      anchors_[level.anchor] = {level.index, weight_ - level.weight_before, level.height + 1, true, false};
    }
    if (!open_.empty()) open_.back().height = std::max(open_.back().height, level.height + 1);
  }

  void check_keys(std::uint32_t map) {
    constexpr std::size_t few = 12;
    const Node* const nodes = tree_.nodes.data();
    const auto end = static_cast<std::uint32_t>(tree_.nodes.size());
    seen_.clear();
    seen_set_.clear();
    for (std::uint32_t i = map + 1; i < end; i = nodes[nodes[i].next].next) {
      const View key(nodes, i);
      if (!key.is_text()) {
        stop(nodes[i].at, fmt::format("a key that is {}", key.is_empty() ? "empty" : key.shape_name()),
             "keys are plain words");
      }
      // yaml-cpp keeps both of two equal keys in silence; whichever was meant, the other one is a mistake.
      const Node* const earlier = find_seen(key.text());
      if (earlier) {
        faults_.add(nodes[i].at, fmt::format("key {} stands here twice", quoted(key.text())),
                    fmt::format("the first one is in line {}", earlier->at.line));
        continue;
      }
      seen_.push_back(&nodes[i]);
      seen_texts_at(key.text(), few);
    }
  }

  const Node* find_seen(std::string_view text) const {
    if (!seen_set_.empty()) {
      const auto found = seen_set_.find(text);
      return found == seen_set_.end() ? nullptr : found->second;
    }
    for (const Node* node : seen_) {
      if (View(tree_.nodes.data(), static_cast<std::uint32_t>(node - tree_.nodes.data())).text() == text) return node;
    }
    return nullptr;
  }

  void seen_texts_at(std::string_view text, std::size_t few) {
    if (seen_.size() <= few) return;
    if (seen_set_.empty()) {
      for (const Node* node : seen_) {
        seen_set_.emplace(View(tree_.nodes.data(), static_cast<std::uint32_t>(node - tree_.nodes.data())).text(), node);
      }
    }
    seen_set_.emplace(text, seen_.back());
  }

  Tree& tree_;
  const ReadBounds& bounds_;
  Faults& faults_;
  std::vector<Level> open_;
  std::vector<Anchor> anchors_;
  std::size_t weight_ = 0;
  std::vector<const Node*> seen_;
  std::unordered_map<std::string_view, const Node*> seen_set_;
};

// The first tab before the text of `line` or of the line above it.
std::optional<Place> find_indenting_tab(std::string_view text, int line) {
  for (int at = 1; at <= line && !text.empty(); ++at) {
    const std::size_t end = text.find('\n');
    const std::string_view row = text.substr(0, end);
    const std::size_t tab = row.substr(0, row.find_first_not_of(" \t")).find('\t');
    if (at + 1 >= line && tab != std::string_view::npos) return Place{at, static_cast<int>(tab) + 1};
    if (end == std::string_view::npos) break;
    text.remove_prefix(end + 1);
  }
  return std::nullopt;
}

// yaml-cpp's messages in our words; what is not foreseen is passed on as it is.
void add_syntax_fault(const YAML::Exception& thrown, std::string_view text, Faults& faults) {
  struct Rewording {
    std::string_view part;
    std::string_view what;
    std::string_view hint;
  };
  constexpr Rewording rewordings[] = {
      {"illegal map value", "a ':' stands where no key can", "put the value in quotes, or start a new line"},
      {"illegal block entry", "a '-' stands where no list item can", "start the item on its own line"},
      {"illegal map key", "a '?' stands where no key can", "put it in quotes"},
      {"illegal flow end", "a ']' or '}' without its opening bracket", "remove it"},
      {"end of sequence flow not found", "a list '[' is not closed", "add ']' or the missing ','"},
      {"end of map flow not found", "a map '{' is not closed", "add '}' or the missing ','"},
      {"end of sequence not found", "a list ends in the middle of its items", "check the indentation"},
      {"end of map not found", "a map ends in the middle of its keys", "check the indentation of this line"},
      {"illegal EOF in scalar", "a quote is not closed", "add the closing quote"},
      {"illegal document indicator in scalar", "a quote is not closed", "add the closing quote"},
      {"unknown escape character", "an unknown escape after '\\'", "write it in single quotes"},
      {"anchor is not defined", "an alias '*' to a name that no '&' gives", "give the anchor before its alias"},
      {"unknown token", "this is not YAML here", "put the text in quotes"},
      {"no content", "a value is missing", {}},
  };
  const Place at = place_of(thrown.mark);
  // A tab in the indentation is misread in many ways, and none of the messages says so.
  if (const auto tab = find_indenting_tab(text, at.line)) {
    faults.add(*tab, "a tab stands where only spaces may indent", "indent with spaces");
    return;
  }
  for (const Rewording& r : rewordings) {
    if (thrown.msg.find(r.part) == std::string::npos) continue;
    faults.add(at, std::string(r.what), std::string(r.hint));
    return;
  }
  faults.add(at, fmt::format("this is not YAML: {}", thrown.msg));
}

}  // namespace

std::string_view View::shape_name() const {
  switch (node().shape) {
    case Node::Shape::text:
      return "a text";
    case Node::Shape::list:
      return "a list";
    case Node::Shape::map:
      return "a map";
    default:
      return "nothing";
  }
}

std::optional<View> View::find(std::string_view key) const {
  for (const Entry e : entries()) {
    if (e.key.text() == key) return e.value;
  }
  return std::nullopt;
}

std::optional<Tree> parse_tree(std::string_view text, const ReadBounds& bounds, Faults& faults) {
  text = without_mark(text);
  if (!check_text(text, bounds, faults)) return std::nullopt;
  Tree tree;
  tree.nodes.reserve(std::min(text.size() / 8 + 16, bounds.nodes));
  TextBuffer buffer(text);
  std::istream stream(&buffer);
  try {
    YAML::Parser parser(stream);
    Builder builder(tree, bounds, faults);
    if (!parser.HandleNextDocument(builder) || tree.nodes.empty()) {
      faults.add({1, 1}, "the file is empty", "start it with 'loom: 1'");
      return std::nullopt;
    }
    Tree second;
    Builder other(second, bounds, faults);
    if (parser.HandleNextDocument(other)) {
      faults.add(second.nodes.empty() ? Place{1, 1} : second.nodes[0].at, "a second document in the file",
                 "one file describes one vehicle: remove '---' and what follows");
      return std::nullopt;
    }
  } catch (const Stop&) {
    return std::nullopt;
  } catch (const YAML::Exception& thrown) {
    add_syntax_fault(thrown, text, faults);
    return std::nullopt;
  }
  return tree;
}

}  // namespace loomproof
