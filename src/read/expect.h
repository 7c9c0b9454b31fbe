// The small questions that every section asks of a node: is it a text, a map, a known word, a usable name.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "read/faults.h"
#include "read/tree.h"

namespace loomproof {

/// The node's text; a fault that says what was expected ("a kind's name") when it is none.
std::optional<std::string_view> expect_text(View node, std::string_view expected, Faults& faults);

/// `true` or `false`.
std::optional<bool> expect_flag(View node, Faults& faults);

/// True when the node is a map; a fault otherwise. An empty node counts as an empty map where `or_empty`.
bool expect_map(View node, std::string_view expected, Faults& faults, bool or_empty = false);

/// A list of at most a hundred texts. One text alone counts as a list of one.
std::vector<View> expect_texts(View node, std::string_view expected, Faults& faults);

/// The index of the text in `words`; a fault with the nearest word otherwise.
std::optional<std::size_t> expect_word(View node, std::string_view what, const std::vector<std::string_view>& words,
                                       Faults& faults);

/// "key 'lenght' is not known in a wire", with the nearest of `known` as its hint.
void unknown_key(View key, std::string_view where, const std::vector<std::string_view>& known, Faults& faults);

/// Names of parts, wires, bundles and the like: letters, digits, `_` and `-`, or anything printable in quotes.
bool check_name(View key, std::string_view what, Faults& faults);

}  // namespace loomproof
