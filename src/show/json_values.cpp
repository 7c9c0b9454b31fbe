// Numbers and texts as JSON.
#include "show/json_values.h"

#include <cmath>

namespace loomproof {

Json number_of(double value) {
  if (!std::isfinite(value)) return nullptr;
  if (value == 0) return 0.0;
  const double scale = std::pow(10.0, 5 - std::floor(std::log10(std::fabs(value))));
  const double rounded = std::isfinite(scale) ? std::round(value * scale) / scale : value;
  return std::isfinite(rounded) ? rounded : value;
}

Json text_or_null(const std::string& text) {
  return text.empty() ? Json(nullptr) : Json(text);
}

}  // namespace loomproof
