# Writes OUT, a C++ source that holds DIR/<name>.md of every name in NAMES as text: the rule pages in the binary.
list(SORT NAMES)
set(rows "")
foreach(name IN LISTS NAMES)
  file(READ ${DIR}/${name}.md text)
  string(APPEND rows "    {\"${name}\", R\"page(${text})page\"},\n")
endforeach()
file(WRITE ${OUT} "// Generated from docs/rules by embed_pages.cmake.
#include \"show/page_table.h\"

namespace loomproof {

const std::vector<Page>& page_table() {
  static const std::vector<Page> table{
${rows}  };
  return table;
}

}  // namespace loomproof
")
