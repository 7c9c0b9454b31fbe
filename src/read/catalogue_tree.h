// The catalogue's entries as trees that the build parsed already: they are longer than the file that uses them.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "read/tree.h"

namespace loomproof {

struct CatalogueTree {
  std::string_view name;
  const Node* nodes;
};

/// All entries, sorted by name. Defined in a source that the build writes from src/model/catalogue/*.yaml.
std::span<const CatalogueTree> catalogue_trees();

/// The tree of that kind's entry, if the catalogue has it.
std::optional<View> find_catalogue_tree(std::string_view kind);

}  // namespace loomproof
