// The user's stock list from YAML text. Format: docs/size.md.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "model/stock.h"
#include "read/read.h"

namespace loomproof {

struct StockResult {
  std::optional<Stock> stock;      // only when there is no fault; what the list leaves out is the usual stock
  std::vector<ReadFault> faults;   // ordered by place
  std::vector<std::string> lines;  // of the text
};

StockResult read_stock(std::string_view text, const ReadBounds& = {});

}  // namespace loomproof
