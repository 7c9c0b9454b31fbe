// A text that holds no quantity.
#pragma once

#include <optional>
#include <string>
#include <utility>

#include "units/parse.h"

namespace loomproof {

/// @param error  as Parsed::error
template <class T>
Parsed<T> wrong(std::string error) {
  return {std::nullopt, std::move(error)};
}

}  // namespace loomproof
