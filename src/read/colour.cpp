// The fourteen codes of IEC 60757:2021, table 1, with the words that people write in their place.
#include "read/colour.h"

#include <array>

namespace loomproof {
namespace {

struct Colour {
  std::string_view word;
  std::string_view code;
};

// The first word of each code is the standard's own; the others are synonyms from the same table or spellings.
constexpr std::array colours{
    Colour{"black", "BK"},  Colour{"brown", "BN"},  Colour{"red", "RD"},       Colour{"orange", "OG"},
    Colour{"yellow", "YE"}, Colour{"green", "GN"},  Colour{"blue", "BU"},      Colour{"violet", "VT"},
    Colour{"grey", "GY"},   Colour{"white", "WH"},  Colour{"pink", "PK"},      Colour{"gold", "GD"},
    Colour{"silver", "SR"}, Colour{"purple", "VT"}, Colour{"turquoise", "TQ"}, Colour{"slate", "GY"},
    Colour{"gray", "GY"},
};

bool is_one_code(std::string_view text) {
  for (const Colour& colour : colours) {
    if (colour.code == text) return true;
  }
  return false;
}

}  // namespace

bool is_colour_code(std::string_view text) {
  if (text.size() == 2) return is_one_code(text);
  return text.size() == 4 && is_one_code(text.substr(0, 2)) && is_one_code(text.substr(2)) &&
         text.substr(0, 2) != text.substr(2);
}

std::string colour_code_for(std::string_view text) {
  std::string rest;
  for (const char c : text) {
    if (c >= 'A' && c <= 'Z') {
      rest += static_cast<char>(c - 'A' + 'a');
    } else if (c >= 'a' && c <= 'z') {
      rest += c;
    }
  }
  // `green and yellow`, `red with blue`: the joining word is no colour.
  for (const std::string_view joint : {"and", "with", "light", "dark"}) {
    const std::size_t at = rest.find(joint);
    if (at != std::string::npos) rest.erase(at, joint.size());
  }
  std::string out;
  std::string_view left = rest;
  while (!left.empty()) {
    const Colour* found = nullptr;
    std::size_t length = 0;
    for (const Colour& colour : colours) {
      if (left.starts_with(colour.word)) {
        found = &colour;
        length = colour.word.size();
        break;
      }
    }
    if (!found && left.size() >= 2) {
      const std::string code{static_cast<char>(left[0] - 'a' + 'A'), static_cast<char>(left[1] - 'a' + 'A')};
      for (const Colour& colour : colours) {
        if (colour.code != code) continue;
        found = &colour;
        length = 2;
        break;
      }
    }
    if (!found) return {};
    out += found->code;
    left.remove_prefix(length);
  }
  return is_colour_code(out) ? out : std::string();
}

}  // namespace loomproof
