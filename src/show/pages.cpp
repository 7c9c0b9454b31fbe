// The rule pages, found by slug.
#include <algorithm>

#include "show/page_layout.h"
#include "show/page_table.h"
#include "show/show.h"

namespace loomproof {

std::optional<std::string> page_of(std::string_view slug, bool colour) {
  const std::vector<Page>& pages = page_table();
  const auto found = std::find_if(pages.begin(), pages.end(), [&](const Page& page) { return page.name == slug; });
  if (found == pages.end()) return std::nullopt;
  return laid_out(found->text, colour);
}

std::vector<std::string_view> page_names() {
  std::vector<std::string_view> names;
  for (const Page& page : page_table()) names.push_back(page.name);
  return names;
}

}  // namespace loomproof
