// What a contact does at rest, the state in which the trade draws it.
#include "show/diagram_rest.h"

#include <algorithm>

namespace loomproof::diagram {
namespace {

bool holds_at_rest(const Condition& condition) {
  switch (condition.op) {
    case Condition::Op::always:
      return true;
    case Condition::Op::all:
      return std::all_of(condition.of.begin(), condition.of.end(), holds_at_rest);
    case Condition::Op::any:
      return std::any_of(condition.of.begin(), condition.of.end(), holds_at_rest);
    case Condition::Op::invert:
      return std::none_of(condition.of.begin(), condition.of.end(), holds_at_rest);
    case Condition::Op::position:
      return std::find(condition.positions.begin(), condition.positions.end(), 0) != condition.positions.end();
    case Condition::Op::input:
    case Condition::Op::output:
    case Condition::Op::coil:
    case Condition::Op::powered:
      return false;
  }
  return false;
}

}  // namespace

bool closed_at_rest(const Loom& loom, TerminalIndex one, TerminalIndex other) {
  const auto& contacts = loom.elements.contacts;
  return std::any_of(contacts.begin(), contacts.end(), [&](const Contact& c) {
    const bool joins = (c.a == one && c.b == other) || (c.a == other && c.b == one);
    return joins && holds_at_rest(c.closed_when);
  });
}

}  // namespace loomproof::diagram
