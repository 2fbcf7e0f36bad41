#!/usr/bin/env python3
"""Reads link units by other means: the CRC of Python's own binascii, BCH by dividing whole numbers, the randomizer by its
recurrence. Takes lines "randomized(0/1) error_control(0/1) unit-in-hex"; gives the frame of each, in hex, or what is wrong."""

import binascii
import sys

GENERATOR = 0b11000101


def remainder(value, bits):
    for place in range(bits - 1, 6, -1):
        if value >> place & 1:
            value ^= GENERATOR << (place - 7)
    return value


def sequence(octets):
    bits = [1] * 8
    while len(bits) < 8 * octets:
        k = len(bits)
        bits.append(bits[k - 2] ^ bits[k - 4] ^ bits[k - 5] ^ bits[k - 6] ^ bits[k - 7] ^ bits[k - 8])
    return int("".join(map(str, bits[: 8 * octets])), 2).to_bytes(octets, "big")


def frame_of(unit, randomized, error_control):
    if unit[:2] != bytes.fromhex("EB90"):
        return "no start sequence"
    if unit[-8:] != bytes.fromhex("C5C5C5C5C5C5C579"):
        return "no tail sequence"
    data = b""
    for at in range(2, len(unit) - 8, 8):
        block = unit[at : at + 8]
        information = int.from_bytes(block[:7], "big")
        if block[7] != (remainder(information << 7, 63) ^ 0x7F) << 1:
            return "wrong parity"
        data += block[:7]
    plain = bytes(a ^ b for a, b in zip(data, sequence(len(data)))) if randomized else data
    length = ((plain[2] & 3) << 8 | plain[3]) + 1
    if any(octet != 0x55 for octet in data[length:]):
        return "wrong fill"
    frame = plain[:length]
    if error_control and binascii.crc_hqx(frame, 0xFFFF) != 0:
        return "wrong error control"
    return frame.hex()


for line in sys.stdin:
    randomized, error_control, unit = line.split()
    print(frame_of(bytes.fromhex(unit), randomized == "1", error_control == "1"))
