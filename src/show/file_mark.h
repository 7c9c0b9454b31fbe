// A short mark by which a printed sheet is known to belong to a file.
#pragma once

#include <string>
#include <string_view>

namespace loomproof {

/// "CRC-32 cbf43926" of the file's bytes: the CRC of ISO 3309, Ethernet and zip, so that common tools can check it. It
/// tells an old print from a new one; it proves nothing against someone who forges.
std::string file_mark(std::string_view bytes);

}  // namespace loomproof
