// A dictionary for the fuzzers, made of the schema for editors: every key and every word that the reader knows.
#include <cstdio>
#include <set>
#include <string>

#include <nlohmann/json.hpp>

#include "show/schema.h"

namespace {

using Json = nlohmann::json;

void gather(const Json& schema, std::set<std::string>& words) {
  if (!schema.is_structured()) return;
  for (const auto& [key, value] : schema.items()) {
    if (key == "properties" && value.is_object()) {
      for (const auto& [name, unused] : value.items()) words.insert(name + ": ");
    }
    if (key == "enum") {
      for (const Json& word : value) {
        if (word.is_string()) words.insert(word.get<std::string>());
      }
    }
    gather(value, words);
  }
}

}  // namespace

int main() {
  std::set<std::string> words{"<b>", "</script>", "<!--", "]]>", "&amp;", "' onclick=", "javascript:", "{is: ", "*a", "&a ",
                              " AWG", " mm2", " mohm", " uF", " degC", " degF", " in", " for 10 s", " at 80 V", " to ",
                              "- ", "  ", "---", "<<: "};
  gather(Json::parse(loomproof::schema_text()), words);
  for (const std::string& word : words) std::printf("\"%s\"\n", word.c_str());
  std::printf("\"\\\"\"\n\"\\\\\"\n\"\\x00\"\n\"\\xc2\\x85\"\n\"\\xe2\\x80\\xae\"\n");
}
