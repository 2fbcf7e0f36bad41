// The sentences of the Cairn language.
//
// Every decision needs one token of look-ahead. `head` rules end where a block opens, so that a driver with its
// own stack of open blocks can take a file head by head and leaf by leaf.

parser grammar CairnParser;

options { tokenVocab = CairnLexer; }

file : item* EOF ;

item : use | let | routine | load ;

use : Use Text ;
let : Let Name Equals expression ;
routine : routineHead statement* CloseBrace ;
load : loadHead ( spanLine | statement )* CloseBrace ;

routineHead : Routine Name OpenParenthesis ( parameter ( Comma parameter )* )? CloseParenthesis OpenBrace ;
parameter : Name Colon Name ( Equals expression )? ;

loadHead : Load Text For Name OpenBrace ;
spanLine : SpanWord expression To expression ;  // exactly once in a load

statement
  : leaf
  | ( atHead | everyHead | togetherHead ) statement* CloseBrace
  | afterHead ( OpenBrace statement* CloseBrace | statement )
  ;

leaf : let | mark | note | send | bring | doRoutine ;

mark : Mark Name Equals markSource ;
markSource
  : Window Name expression? ( Opens | Closes )
  | ( Start | End ) Of Name
  | expression crossing?  // with a crossing, the expression is the path of a predicted quantity
  ;
crossing : ( Rises Above | Falls Below ) expression ( NumberWord expression )? ;

note : Note Text ;
send : Send Name Dot Name argument* ;
bring : Bring Name ( Dot Name )? To Name ;
doRoutine : Do Name OpenParenthesis ( argument ( Comma argument )* )? CloseParenthesis ;
argument : Name Equals expression ;

atHead : At About? expression ( As Name )? OpenBrace ;
afterHead : After expression ;
everyHead : From expression To expression Every expression OpenBrace ;
togetherHead : Together OpenBrace ;

expression : term ( ( Plus | Minus ) term )* ;
term : factor ( ( Star | Slash ) factor )* ;
factor
  : Minus factor
  | Number Unit?
  | Instant
  | Text
  | True
  | False
  | path
  | OpenParenthesis expression CloseParenthesis
  ;
path : Name ( Dot Name ( Dot Name )? )? ;
