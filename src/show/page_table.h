// The pages of docs/rules as they were when the binary was built.
#pragma once

#include <string_view>
#include <vector>

namespace loomproof {

struct Page {
  std::string_view name;  // the rule's slug
  std::string_view text;  // Markdown
};

/// Sorted by name.
const std::vector<Page>& page_table();

}  // namespace loomproof
