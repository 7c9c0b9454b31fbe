// A short mark by which a printed sheet is known to belong to a file.
#include "show/file_mark.h"

#include <fmt/format.h>
#include <boost/crc.hpp>

namespace loomproof {

std::string file_mark(std::string_view bytes) {
  boost::crc_32_type crc;
  crc.process_bytes(bytes.data(), bytes.size());
  return fmt::format("CRC-32 {:08x}", crc.checksum());
}

}  // namespace loomproof
