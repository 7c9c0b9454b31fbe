// Values as every JSON document of the program writes them.
#pragma once

#include <string>

#include <nlohmann/json.hpp>

namespace loomproof {

using Json = nlohmann::ordered_json;  // keys in the order in which they were put in

/// Six digits, so that the last bits of a computation do not show as a difference; null when not finite.
Json number_of(double value);

/// null when empty
Json text_or_null(const std::string& text);

}  // namespace loomproof
