// One part as the primitives of its kind see it: the terminals, arguments and conditions that they name.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "model/loom.h"

namespace loomproof {

/// `pattern` with `n` in place of {n}.
std::string filled(std::string_view pattern, std::string_view n);

/// A primitive that is being made, for the n-th of what its kind repeats.
struct PrimitiveCall {
  const PrimitiveRule& rule;
  const std::string& n;
  bool sound = true;  // every terminal that it needs is there
};

/// Holds references to the loom and the list of faults; makes the terminals inside a part when they are first named.
class PartReader {
 public:
  PartReader(Loom&, std::vector<InstantiateFault>&);

  void start(PartIndex);
  PartIndex index() const { return index_; }
  const Part& part() const { return *part_; }
  const Kind& kind() const { return *kind_; }
  /// What {n} runs over here: only the taps and pins that the file uses, or the names of a list.
  const std::vector<std::string>& repeats() const { return repeats_; }
  /// Whether the part has what the primitive asks for.
  bool wanted(const PrimitiveRule&) const;

  std::optional<TerminalIndex> terminal(std::string_view name);
  /// The terminal that an argument names; a fault, and the call no longer sound, when there is none.
  TerminalIndex end(PrimitiveCall&, std::string_view key);
  std::string argument(const PrimitiveCall&, std::string_view key) const;
  Datum datum(const PrimitiveCall&, std::string_view key) const;
  std::string word(const PrimitiveCall&, std::string_view key) const;
  bool truth(const PrimitiveCall&, std::string_view key, bool otherwise) const;

  /// Lets conditions of the part use `name` for the element of that index.
  void name_as(const std::string& name, Condition::Op, std::size_t index);
  /// The call's condition for the element that is put at the end of the list next. Conditions name inputs, outputs and
  /// coils that may stand further down, so they are resolved at the part's end.
  template <class T>
  void later(std::vector<T>& list, Condition T::*slot, const PrimitiveCall& call) {
    const std::size_t at = list.size();
    const ConditionText* text = call.rule.when ? &*call.rule.when : nullptr;
    pending_.push_back([this, &list, slot, at, text, n = call.n] {
      if (text != nullptr) list[at].*slot = condition(*text, n);
    });
  }
  void resolve_conditions();

 private:
  std::vector<std::string> find_repeats() const;
  TerminalIndex make_terminal(std::string_view name);
  Condition condition(const ConditionText&, const std::string& n);
  void positions(const std::string& name, std::vector<int>& out) const;

  Loom& loom_;
  std::vector<InstantiateFault>& faults_;
  std::set<std::size_t> wired_;
  PartIndex index_;
  Part* part_ = nullptr;
  const Kind* kind_ = nullptr;
  std::map<std::string, Condition, std::less<>> names_;
  std::vector<std::string> repeats_;
  std::vector<std::function<void()>> pending_;
};

}  // namespace loomproof
