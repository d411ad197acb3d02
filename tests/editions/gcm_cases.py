"""Published cases of AES-GCM, in hexadecimal: key, initialisation vector, plain text, additional data, sealed."""

# McGrew and Viega, "The Galois/Counter Mode of Operation (GCM)", submitted to NIST, appendix B: test cases 13, 14 and
# 16, those of a key of 256 bits and an initialisation vector of 96.
K16 = "feffe9928665731c6d6a8f9467308308" * 2
P16 = (
    "d9313225f88406e5a55909c5aff5269a86a7a9531534f7da2e4c303d8a318a72"
    "1c3c0c95956809532fcf0e2449a6b525b16aedf5aa0de657ba637b39"
)
A16 = "feedfacedeadbeeffeedfacedeadbeefabaddad2"
C16 = (
    "522dc1f099567d07f47f37a32a84427d643a8cdcbfe5c0c97598a2bd2555d1aa"
    "8cb08e48590dbb3da7b08b1056828838c5f61e6393ba7a0abcc9f662"
)
GCM = [
    ("00" * 32, "00" * 12, "", "", "530f8afbc74536b9a963b4f1c4cb738b"),
    ("00" * 32, "00" * 12, "00" * 16, "", "cea7403d4d606b6e074ec5d3baf39d18" + "d0d1c8a799996bf0265b98b5d48ab919"),
    (K16, "cafebabefacedbaddecaf888", P16, A16, C16 + "76fc6ece0f4e1768cddf8853bb2d551b"),
]
