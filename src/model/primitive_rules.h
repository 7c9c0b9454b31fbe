// What each primitive takes: the words that a kind may write in its `inside:` list.
#pragma once

#include <span>
#include <string_view>

#include "units/quantity.h"

namespace loomproof {

/// An argument that names one terminal of the kind.
struct TerminalArgument {
  std::string_view name;
  bool needed = true;
};

/// An argument that is an expression over attributes and literals; its value comes out in `dimension`.
struct NumberArgument {
  std::string_view name;
  Dimension dimension;
  bool needed = false;
};

/// An argument that is one of a few words, or the name of an attribute that holds one of them.
struct WordArgument {
  std::string_view name;
  std::string_view choices;  // joined by a space; empty = any word
  bool needed = false;
};

struct PrimitiveRules {
  std::string_view type;
  std::string_view about;
  std::span<const TerminalArgument> terminals;
  std::span<const NumberArgument> numbers;
  std::span<const WordArgument> words;
  std::string_view table;  // argument that gives an expression a position; empty = none
  enum class When { none, may, must } when = When::none;
};

/// Every primitive, in the order in which the docs list them. All of them also take `only_if`.
std::span<const PrimitiveRules> primitive_rules();

/// The rules of that type, or nullptr.
const PrimitiveRules* find_primitive_rules(std::string_view type);

}  // namespace loomproof
