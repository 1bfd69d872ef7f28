// The application-protocol handshake of ISO 15118-2:2014, in the notation that notation.ts reads.
// Its local elements carry no namespace. Written from memory; checked by
// tests/wire/exi/vectors.test.ts.
export const APP_PROTOCOL = `
ns AppProtocol
plain idType unsignedByte
int priorityType unsignedByte 1 20
str protocolNamespaceType 0 100
enum responseCodeType
 OK_SuccessfulNegotiation OK_SuccessfulNegotiationWithMinorDeviation Failed_NoNegotiation
type AppProtocolType
 ProtocolNamespace protocolNamespaceType
 VersionNumberMajor unsignedInt
 VersionNumberMinor unsignedInt
 SchemaID idType
 Priority priorityType
element supportedAppProtocolReq
 AppProtocol AppProtocolType 1..20
element supportedAppProtocolRes
 ResponseCode responseCodeType
 SchemaID idType ?
`;
