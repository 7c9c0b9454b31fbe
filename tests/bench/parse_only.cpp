// The yardstick: a program that only parses the file with yaml-cpp.
#include <yaml-cpp/yaml.h>

int main(int argc, char** argv) {
  return argc == 2 && YAML::LoadFile(argv[1]).IsMap() ? 0 : 1;
}
