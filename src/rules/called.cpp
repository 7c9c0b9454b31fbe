// Names are compared by their letters alone: `E-stop`, `e_stop` and `estop 2` are one.
#include "rules/called.h"

#include <algorithm>
#include <cctype>
#include <initializer_list>
#include <string>
#include <string_view>

namespace loomproof {
namespace {

std::string letters_of(std::string_view name) {
  std::string out;
  for (const char c : name) {
    if (std::isalpha(static_cast<unsigned char>(c)) != 0)
      out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  }
  return out;
}

bool has_any(std::string_view name, std::initializer_list<std::string_view> words) {
  const std::string letters = letters_of(name);
  return std::any_of(words.begin(), words.end(),
                     [&](std::string_view word) { return letters.find(word) != std::string::npos; });
}

bool is_switch(const Loom& loom, PartIndex part) {
  return loom.part(part).positions.size() > 1 && loom.kind_of(loom.part(part)).symbol == "switch";
}

}  // namespace

bool is_called_brake(const Loom& loom, PartIndex part) {
  if (loom.part(part).kind == "brake-switch") return true;
  return is_switch(loom, part) && has_any(loom.part(part).name, {"brake"});
}

bool is_called_stand(const Loom& loom, PartIndex part) {
  return is_switch(loom, part) && has_any(loom.part(part).name, {"stand", "seat"});
}

std::vector<int> stop_positions(const Loom& loom, PartIndex part) {
  std::vector<int> out;
  if (!is_switch(loom, part)) return out;
  const auto& positions = loom.part(part).positions;
  const bool is_stop = has_any(loom.part(part).name, {"kill", "estop", "emergency"});
  const bool named =
      std::any_of(positions.begin(), positions.end(), [](const std::string& p) { return letters_of(p) == "stop"; });
  const auto lets_run = [](const std::string& position) {
    const std::string letters = letters_of(position);
    return letters == "on" || letters == "run" || letters == "ride" || letters == "drive";
  };
  for (std::size_t k = 0; k < positions.size(); ++k) {
    const bool stops = letters_of(positions[k]) == "stop";
    // A pump that rests at `stop` is no matter of the drive.
    const bool called = named ? stops && (k > 0 || is_stop) : is_stop && k > 0;
    if (called && !lets_run(positions[k])) out.push_back(static_cast<int>(k));
  }
  return out;
}

bool is_called_brake_lamp(const Loom& loom, const Load& load) {
  const Part& part = loom.part(load.part);
  if (!load.light || loom.kind_of(part).symbol != "lamp") return false;
  if (load.name.starts_with("brake")) return true;
  const std::initializer_list<std::string_view> words{"brakelamp", "brakelight", "stoplamp", "stoplight"};
  return has_any(part.name, words) || has_any(load.name, words);
}

}  // namespace loomproof
