// W3C XML Signature (xmldsig-core-schema) as message headers use it, in the notation that
// notation.ts reads. Written from memory; checked by tests/wire/exi/vectors.test.ts. The elements
// marked partial never occur in charging messages: they stand here because every global element has
// its code in the document table.
export const XML_SIGNATURE = `
ns ds
plain CryptoBinary base64Binary
plain DigestValueType base64Binary
plain HMACOutputLengthType integer
element Signature SignatureType
type SignatureType
 @Id ID ?
 ref SignedInfo
 ref SignatureValue
 ref KeyInfo ?
 ref Object 0..unbounded
element SignatureValue SignatureValueType
type SignatureValueType = base64Binary
 @Id ID ?
element SignedInfo SignedInfoType
type SignedInfoType
 @Id ID ?
 ref CanonicalizationMethod
 ref SignatureMethod
 ref Reference 1..unbounded
element CanonicalizationMethod CanonicalizationMethodType
type CanonicalizationMethodType mixed
 @Algorithm anyURI
 any ##any 0..unbounded
element SignatureMethod SignatureMethodType
type SignatureMethodType mixed
 @Algorithm anyURI
 HMACOutputLength HMACOutputLengthType ?
 any ##other 0..unbounded
element Reference ReferenceType
type ReferenceType
 @Id ID ?
 @Type anyURI ?
 @URI anyURI ?
 ref Transforms ?
 ref DigestMethod
 ref DigestValue
element Transforms TransformsType
type TransformsType
 ref Transform 1..unbounded
element Transform TransformType
type TransformType mixed
 @Algorithm anyURI
 repeat 0..unbounded choice any ##other | XPath string
element DigestMethod DigestMethodType
type DigestMethodType mixed
 @Algorithm anyURI
 any ##other 0..unbounded
element DigestValue DigestValueType
element KeyInfo KeyInfoType
type KeyInfoType mixed
 @Id ID ?
 repeat 1..unbounded choice ref KeyName | ref KeyValue | ref RetrievalMethod | ref X509Data
 | ref PGPData | ref SPKIData | ref MgmtData | any ##other
element KeyName string
element MgmtData string
element KeyValue KeyValueType
type KeyValueType mixed
 choice ref DSAKeyValue | ref RSAKeyValue | any ##other
element RetrievalMethod RetrievalMethodType
type RetrievalMethodType
 @Type anyURI ?
 @URI anyURI ?
 ref Transforms ?
element X509Data X509DataType
type X509DataType
 repeat 1..unbounded choice X509IssuerSerial X509IssuerSerialType | X509SKI base64Binary
 | X509SubjectName string | X509Certificate base64Binary | X509CRL base64Binary | any ##other
type X509IssuerSerialType
 X509IssuerName string
 X509SerialNumber integer
element PGPData partial
element SPKIData partial
element Object partial
element Manifest partial
element SignatureProperties partial
element SignatureProperty partial
element DSAKeyValue partial
element RSAKeyValue partial
`;
