// What can be bought: sizes of cable, fuses, resistors and contacts, with prices where the user gives them.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace loomproof {

/// One value as the user writes it, its number in base units, and its price in the user's own currency.
struct StockValue {
  std::string text;             // "2.5 mm2", "10 AWG"
  double amount = 0;            // mm2, A, ohm, W or J
  std::optional<double> price;  // per metre of cable, per piece of anything else
};

/// Cable of one insulation. A row without insulation is sold in every one.
struct CableRow {
  std::string insulation;
  std::optional<double> volts;  // printed on it
  std::vector<StockValue> sizes;
};

/// Fuses of one make. A row without curve or volts fits any.
struct FuseRow {
  std::string curve;
  std::optional<double> volts;
  std::optional<double> breaks_a;
  std::vector<StockValue> rated;
};

/// Every list ascends.
struct Stock {
  std::vector<CableRow> cables;
  std::vector<FuseRow> fuses;
  std::vector<StockValue> contacts;             // A
  std::vector<StockValue> ohms, watts, pulses;  // of resistors
};

/// Metric cable of ISO 6722-1 from 0.5 to 120 mm2 in the usual sizes; blade fuses of ISO 8820-3 (1 to 40 A); bolt-in
/// and cartridge fuses in the usual ratings (common practice, no source); resistors of IEC 60063 E6. Without prices.
const Stock& usual_stock();

}  // namespace loomproof
