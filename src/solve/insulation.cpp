// The insulation table.
#include "solve/insulation.h"

#include <algorithm>

namespace loomproof {
namespace {

// Limit: the number in the trade name. Where a source gives a range, the figure that makes the wire hotter or its time
// shorter is taken (lower conductivity, lower heat capacity, lower emissivity, lower final temperature).
// Conductivity: reciprocal of the thermal resistivities of IEC 60287-2-1 (PVC, XLPE, EPR, silicone); others from
// memory. Heat capacity: IEC 60853-2 and IEC 60949 (PVC 1.7, XLPE 2.4, EPR 2.0 MJ/(m3 K)), from memory; others from
// memory. Emissivity: infrared camera manuals print 0.95 for plastics and rubber; 0.90 is kept for clean, light
// colours. Final temperature: IEC 60364-5-54 annex A for PVC, XLPE, EPR, rubber, silicone; fluoropolymers below their
// melting point (ETFE 267 degC, PTFE 327 degC), from memory.
constexpr std::string_view pvc_source =
    "IEC 60287-2-1 (conductivity), IEC 60364-5-54 annex A (final temperature), IEC 60853-2 from memory (heat capacity)";
constexpr std::string_view vehicle_pvc_source =
    "as pvc-70; limit by trade name, between classes A and B of ISO 6722-1 from memory";
constexpr std::string_view xlpe_source =
    "IEC 60287-2-1 (conductivity), IEC 60364-5-54 annex A (final temperature), IEC 60853-2 from memory (heat capacity)";
constexpr std::string_view vehicle_xlpe_source =
    "as xlpe-90; limit: ISO 6722-1 class C or D from memory, SAE J1128 for 125 degC";
constexpr std::string_view rubber_source = "IEC 60364-5-54 annex A (final temperature), the other figures from memory";
constexpr std::string_view silicone_source =
    "IEC 60287-2-1 with EPR for silicone (conductivity), IEC 60364-5-54 annex A (final temperature), else from memory";
constexpr std::string_view fluoropolymer_source = "from memory; final temperature kept below the melting point";

constexpr Insulation row(std::string_view name, double limit_c, double final_c, double conductivity, double heat_mj,
                         std::string_view source) {
  return {.name = name,
          .limit = Celsius(limit_c),
          .overload_limit = Celsius(limit_c + 25),
          .short_circuit_limit = Celsius(final_c),
          .conductivity_w_per_m_k = conductivity,
          .volumetric_heat_j_per_m3_k = heat_mj * 1e6,
          .emissivity = 0.90,
          .source = source};
}

//  name, limit degC, final degC, conductivity W/(m K), heat capacity MJ/(m3 K), source
constexpr Insulation table[] = {
    row("pvc-70", 70, 160, 0.200, 1.7, pvc_source),
    row("pvc-85", 85, 160, 0.200, 1.7, vehicle_pvc_source),
    row("pvc-90", 90, 160, 0.200, 1.7, vehicle_pvc_source),
    row("pvc-105", 105, 160, 0.200, 1.7, vehicle_pvc_source),
    row("xlpe-90", 90, 250, 0.286, 2.4, xlpe_source),
    row("xlpe-125", 125, 250, 0.286, 2.4, vehicle_xlpe_source),
    row("xlpe-150", 150, 250, 0.286, 2.4, vehicle_xlpe_source),
    row("epr-90", 90, 250, 0.286, 2.0, xlpe_source),
    row("rubber-85", 85, 220, 0.200, 2.0, rubber_source),
    row("silicone-180", 180, 350, 0.200, 1.5, silicone_source),
    row("silicone-200", 200, 350, 0.200, 1.5, silicone_source),
    row("etfe-150", 150, 250, 0.240, 1.9, fluoropolymer_source),
    row("ptfe-200", 200, 300, 0.250, 2.1, fluoropolymer_source),
    row("ptfe-260", 260, 300, 0.250, 2.1, fluoropolymer_source),
};

}  // namespace

std::optional<Insulation> find_insulation(std::string_view name) {
  const auto found = std::ranges::find(table, name, &Insulation::name);
  if (found == std::end(table)) return std::nullopt;
  return *found;
}

std::span<const Insulation> insulations() {
  return table;
}

}  // namespace loomproof
