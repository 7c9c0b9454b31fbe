# Writes OUT, a C++ source that holds DIR/<name>.yaml of every name in NAMES as text: the catalogue in the binary.
list(SORT NAMES)  # of names, not of paths: `relay` must come before `relay-x`
set(rows "")
foreach(name IN LISTS NAMES)
  file(READ ${DIR}/${name}.yaml text)
  string(APPEND rows "    {\"${name}\", R\"yaml(${text})yaml\"},\n")
endforeach()
file(WRITE ${OUT} "// Generated from src/model/catalogue by embed_catalogue.cmake.
#include \"model/catalogue_table.h\"

namespace loomproof {

const std::vector<CatalogueEntry>& catalogue_table() {
  static const std::vector<CatalogueEntry> table{
${rows}  };
  return table;
}

}  // namespace loomproof
")
