// Looks up what the primitives of a kind name: terminals, arguments, conditions.
#include "model/part_reader.h"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "model/expression.h"

namespace loomproof {

std::string filled(std::string_view pattern, std::string_view n) {
  std::string out(pattern);
  const std::size_t at = out.find("{n}");
  if (at != std::string::npos) out.replace(at, 3, n);
  return out;
}

PartReader::PartReader(Loom& loom, std::vector<InstantiateFault>& faults) : loom_(loom), faults_(faults) {
  for (const Wire& wire : loom.wires) wired_.insert({wire.from.value, wire.to.value});
}

void PartReader::start(PartIndex index) {
  index_ = index;
  part_ = &loom_.parts[index.value];
  kind_ = &loom_.kind_of(*part_);
  names_.clear();
  repeats_ = find_repeats();
}

std::vector<std::string> PartReader::find_repeats() const {
  if (kind_->repeat.empty()) return {};
  const Scalar* scalar = part_->find(kind_->repeat);
  if (scalar == nullptr) return {};
  if (const auto* list = std::get_if<std::vector<std::string>>(&scalar->value)) return *list;
  const auto* count = std::get_if<Magnitude>(&scalar->value);
  if (count == nullptr) return {};
  std::set<int> used;
  for (const TerminalRule& rule : kind_->terminals) {
    const std::size_t hole = rule.name.find("{n}");
    if (hole == std::string::npos) continue;
    const std::string prefix = rule.name.substr(0, hole);
    for (TerminalIndex t : part_->terminals) {
      const std::string& name = loom_.terminal(t).name;
      if (!name.starts_with(prefix)) continue;
      int n = 0;
      const auto [end, fault] = std::from_chars(name.data() + prefix.size(), name.data() + name.size(), n);
      if (fault == std::errc() && end == name.data() + name.size() && n >= 0) used.insert(n);
    }
  }
  std::vector<std::string> out;
  for (int n : used) out.push_back(std::to_string(n));
  return out;
}

bool PartReader::wanted(const PrimitiveRule& rule) const {
  return std::all_of(rule.only_if.begin(), rule.only_if.end(), [&](const auto& need) {
    const Scalar* scalar = part_->find(need.first);
    if (need.second == "given") return scalar != nullptr;
    if (need.second == "absent") return scalar == nullptr;
    if (scalar == nullptr) return false;
    if (const auto* flag = std::get_if<bool>(&scalar->value)) return need.second == (*flag ? "true" : "false");
    const auto* text = std::get_if<std::string>(&scalar->value);
    return text != nullptr && *text == need.second;
  });
}

std::optional<TerminalIndex> PartReader::terminal(std::string_view name) {
  for (TerminalIndex t : part_->terminals) {
    if (loom_.terminal(t).name == name) return t;
  }
  // Terminals inside a part are made when a primitive first needs them.
  for (const TerminalRule& rule : kind_->terminals) {
    if (!rule.inside) continue;
    const std::size_t hole = rule.name.find("{n}");
    const bool fits = hole == std::string::npos
                          ? rule.name == name
                          : name.size() > hole && name.substr(0, hole) == std::string_view(rule.name).substr(0, hole);
    if (fits) return make_terminal(name);
  }
  return std::nullopt;
}

TerminalIndex PartReader::make_terminal(std::string_view name) {
  const TerminalIndex made{loom_.terminals.size()};
  loom_.terminals.push_back({std::string(name), index_, true, true});
  loom_.parts[index_.value].terminals.push_back(made);
  return made;
}

std::string PartReader::argument(const PrimitiveCall& call, std::string_view key) const {
  const auto found = call.rule.arguments.find(key);
  return found == call.rule.arguments.end() ? std::string() : filled(found->second, call.n);
}

TerminalIndex PartReader::end(PrimitiveCall& call, std::string_view key) {
  const std::string name = argument(call, key);
  if (const auto found = terminal(name)) return *found;
  call.sound = false;
  const bool left_out = std::any_of(kind_->terminals.begin(), kind_->terminals.end(), [&](const TerminalRule& t) {
    return t.on_mention && name.starts_with(t.name.substr(0, t.name.find("{n}")));
  });
  if (!left_out) {
    faults_.push_back({call.rule.at, fmt::format("primitive '{}' of kind '{}' needs the terminal '{}', which the "
                                                 "kind does not have",
                                                 call.rule.name, kind_->name, name)});
  }
  return {};
}

Datum PartReader::datum(const PrimitiveCall& call, std::string_view key) const {
  const std::string text = argument(call, key);
  return text.empty() ? Datum{} : evaluate(text, *part_);
}

std::string PartReader::word(const PrimitiveCall& call, std::string_view key) const {
  const std::string text = argument(call, key);
  if (const auto given = part_->text(text)) return *given;
  return part_->find(text) == nullptr && kind_->find_attribute(text) != nullptr ? std::string() : text;
}

bool PartReader::truth(const PrimitiveCall& call, std::string_view key, bool otherwise) const {
  const std::string text = argument(call, key);
  if (text.empty()) return otherwise;
  if (const auto given = part_->flag(text)) return *given;
  return text == "true" ? true : text == "false" ? false : otherwise;
}

void PartReader::resolve_conditions() {
  for (const auto& resolve : pending_) resolve();
  pending_.clear();
}

Condition PartReader::condition(const ConditionText& text, const std::string& n) {
  using Op = ConditionText::Op;
  Condition out;
  switch (text.op) {
    case Op::always:
      return out;
    case Op::all:
    case Op::any:
    case Op::invert:
      out.op = text.op == Op::all   ? Condition::Op::all
               : text.op == Op::any ? Condition::Op::any
                                    : Condition::Op::invert;
      for (const ConditionText& child : text.of) out.of.push_back(condition(child, n));
      return out;
    case Op::name: {
      const auto found = names_.find(text.words.at(0));
      if (found == names_.end()) {
        faults_.push_back({kind_->at, fmt::format("kind '{}' has no input, output or coil named '{}'", kind_->name,
                                                  text.words.at(0))});
        return out;
      }
      return found->second;
    }
    case Op::position:
      out.op = Condition::Op::position;
      for (const std::string& name : text.words) positions(filled(name, n), out.positions);
      return out;
    case Op::powered: {
      out.op = Condition::Op::powered;
      const auto pos = terminal(text.words.at(0));
      const auto neg = terminal(text.words.at(1));
      if (pos && neg) {
        out.pos = *pos;
        out.neg = *neg;
      }
      out.above_v = evaluate(text.words.at(2), *part_);
      return out;
    }
    case Op::wired: {
      const auto t = terminal(text.words.at(0));
      const bool wired = t && wired_.contains(t->value);
      // `always` and its inverse: the file decides once whether a wire lands there.
      if (wired) return out;
      out.op = Condition::Op::invert;
      out.of.push_back({});
      return out;
    }
  }
  return out;
}

void PartReader::positions(const std::string& name, std::vector<int>& out) const {
  if (name == "first") {
    out.push_back(0);
    return;
  }
  std::vector<std::string> wanted{name};
  const Scalar* scalar = part_->find(name);
  if (scalar != nullptr) {
    if (const auto* list = std::get_if<std::vector<std::string>>(&scalar->value)) wanted = *list;
  }
  for (const std::string& position : wanted) {
    const auto at = std::find(part_->positions.begin(), part_->positions.end(), position);
    if (at != part_->positions.end()) out.push_back(static_cast<int>(at - part_->positions.begin()));
  }
}

void PartReader::name_as(const std::string& name, Condition::Op op, std::size_t index) {
  Condition c;
  c.op = op;
  c.index = index;
  names_[name] = c;
}

}  // namespace loomproof
