// Build tool: reads catalogue entries and writes their trees as C++ tables, so that the program parses none of them.
//
// usage: compile_catalogue OUT.cpp ENTRY.yaml...
#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "read/tree.h"

namespace {

using namespace loomproof;

std::string literal(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (byte < 0x20 || byte >= 0x7F) {
      out += fmt::format("\\{:03o}", byte);
    } else {
      out += c;
    }
  }
  return out + "\"";
}

std::string_view shape_word(Node::Shape shape) {
  constexpr std::string_view words[] = {"empty", "text", "list", "map", "alias"};
  return words[static_cast<std::size_t>(shape)];
}

}  // namespace

int main(int count, char** arguments) {
  std::vector<std::filesystem::path> entries(arguments + std::min(count, 2), arguments + count);
  std::sort(entries.begin(), entries.end(), [](const auto& a, const auto& b) { return a.stem() < b.stem(); });
  std::string tables;
  std::string rows;
  for (std::size_t i = 0; i < entries.size(); ++i) {
    std::ifstream in(entries[i], std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    Faults faults;
    const auto tree = parse_tree(text, {}, faults);
    for (const ReadFault& fault : std::move(faults).sorted(20)) {
      fmt::print(stderr, "{}:{}:{}: error: {} {}\n", entries[i].string(), fault.at.line, fault.at.column, fault.what,
                 fault.hint);
    }
    if (!tree) return 1;
    tables += fmt::format("constexpr Node entry_{}[] = {{\n", i);
    for (const Node& node : tree->nodes) {
      tables += fmt::format("    {{S::{}, {}, {}, {}, {{{}, {}}}, {}}},\n", shape_word(node.shape), node.in_quotes,
                            node.next, node.target, node.at.line, node.at.column, literal(node.text));
    }
    tables += "};\n\n";
    rows += fmt::format("    {{{}, entry_{}}},\n", literal(entries[i].stem().string()), i);
  }
  if (count < 3) return 1;
  std::ofstream out(arguments[1], std::ios::binary);
  out << "// Generated from src/model/catalogue by compile_catalogue.\n"
         "#include \"read/catalogue_tree.h\"\n\n"
         "namespace loomproof {\nnamespace {\n\nusing S = Node::Shape;\n\n"
      << tables << "constexpr CatalogueTree table[] = {\n"
      << rows << "};\n\n}  // namespace\n\n"
      << "std::span<const CatalogueTree> catalogue_trees() {\n  return table;\n}\n\n}  // namespace loomproof\n";
  return out.flush() ? 0 : 1;
}
