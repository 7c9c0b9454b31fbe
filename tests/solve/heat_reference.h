// Published tables as the heat tests read them, and the cable dimensions that those tables assume.
#pragma once

#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "solve/wire_heat.h"
#include "units/conductor.h"

namespace heat_reference {

/// A wire of the conductor and insulation named.
inline loomproof::WireBuild wire_of(double area_mm2, std::string_view insulation) {
  return loomproof::wire_build(loomproof::SquareMillimetre(area_mm2), insulation).value();
}

using Row = std::map<std::string, std::string>;

/// Rows of a reference table by column name; `#` lines are notes, quotes protect commas.
inline std::vector<Row> read(const std::string& file) {
  std::ifstream in(std::string(TESTS_DIR) + "/reference/" + file);
  std::vector<std::string> names;
  std::vector<Row> rows;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#') continue;
    std::vector<std::string> cells(1);
    bool quoted = false;
    for (const char c : line) {
      if (c == '"') {
        quoted = !quoted;
      } else if (c == ',' && !quoted) {
        cells.emplace_back();
      } else {
        cells.back() += c;
      }
    }
    if (names.empty()) {
      names = cells;
      continue;
    }
    Row row;
    for (std::size_t i = 0; i < names.size() && i < cells.size(); ++i) row[names[i]] = cells[i];
    rows.push_back(row);
  }
  return rows;
}

inline double number(const Row& row, const std::string& column) {
  return std::stod(row.at(column));
}

/// "1/0" is 0, "2/0" is -1 and so on, as awg_area counts.
inline int gauge(const std::string& size) {
  const auto slash = size.find('/');
  return slash == std::string::npos ? std::stoi(size) : 1 - std::stoi(size.substr(0, slash));
}

/// Dimensions in inches of US building wire and marine battery cable, all from memory.
/// conductor: NEC chapter 9 table 8, stranded. Outside, NEC chapter 9 table 5: tw is TW/THW (60 degC), thhn is
/// THWN/THHN (75 and 90 degC, thin PVC under nylon), xhhw is XHHW (90 degC, XLPE); 18 and 16 AWG are fixture wire TFFN
/// in all. sae_wall: SAE J1127/J1128 general-purpose wall (GXL, SGX) over the conductor.
struct AwgCable {
  int gauge;
  double conductor_in, tw_in, thhn_in, xhhw_in, sae_wall_in;
};
inline constexpr AwgCable awg_cables[] = {
    {18, 0.046, 0.084, 0.084, 0.084, 0.023}, {16, 0.058, 0.098, 0.098, 0.098, 0.023},
    {14, 0.073, 0.133, 0.111, 0.133, 0.023}, {12, 0.092, 0.152, 0.130, 0.152, 0.026},
    {10, 0.116, 0.176, 0.164, 0.176, 0.031}, {8, 0.146, 0.236, 0.216, 0.236, 0.037},
    {6, 0.184, 0.304, 0.254, 0.274, 0.043},  {4, 0.232, 0.352, 0.324, 0.322, 0.043},
    {3, 0.260, 0.380, 0.352, 0.350, 0.050},  {2, 0.292, 0.412, 0.384, 0.382, 0.050},
    {1, 0.332, 0.492, 0.446, 0.442, 0.060},  {0, 0.372, 0.532, 0.486, 0.482, 0.060},
    {-1, 0.418, 0.578, 0.532, 0.528, 0.060}, {-2, 0.470, 0.630, 0.584, 0.580, 0.065},
    {-3, 0.528, 0.688, 0.642, 0.638, 0.065},
};
inline const AwgCable& awg_cable(int gauge_) {
  for (const AwgCable& cable : awg_cables) {
    if (cable.gauge == gauge_) return cable;
  }
  throw std::out_of_range("no such gauge in awg_cables");
}

constexpr double mm_per_in = 25.4;

}  // namespace heat_reference
