// The stock of a shop that has the usual things.
#include "model/stock.h"

#include <fmt/core.h>

namespace loomproof {
namespace {

std::vector<StockValue> values(std::initializer_list<double> amounts, std::string_view unit) {
  std::vector<StockValue> out;
  for (const double amount : amounts) out.push_back({fmt::format("{} {}", amount, unit), amount, std::nullopt});
  return out;
}

Stock make_usual() {
  Stock stock;
  stock.cables.push_back(
      {"", std::nullopt, values({0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120}, "mm2")});
  stock.fuses.push_back({"blade", std::nullopt, std::nullopt, values({1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 40}, "A")});
  stock.fuses.push_back({"bolt-in", std::nullopt, std::nullopt,
                         values({30, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 500}, "A")});
  stock.fuses.push_back({"cartridge", std::nullopt, std::nullopt,
                         values({1,  2,  3,  4,  5,   6,   8,   10,  12,  15,  16,  20,  25,  30,  32,  35, 40,
                                 50, 60, 63, 80, 100, 125, 150, 160, 175, 200, 225, 250, 300, 350, 400, 500},
                                "A")});
  stock.contacts = values({1, 2, 3, 5, 10, 15, 20, 30, 40, 50, 75, 100, 150, 200, 250, 300, 400, 500, 600}, "A");
  stock.ohms = values({4.7, 6.8, 10, 15, 22, 33, 47, 68, 100, 150, 220, 330, 470, 680, 1000}, "ohm");
  stock.watts = values({1, 2, 3, 5, 10, 15, 25, 50, 100, 150, 200, 300, 500, 1000}, "W");
  stock.pulses = values({5, 10, 20, 50, 100, 120, 200, 300, 500, 1000, 2000, 5000}, "J");
  return stock;
}

}  // namespace

const Stock& usual_stock() {
  static const Stock stock = make_usual();
  return stock;
}

}  // namespace loomproof
